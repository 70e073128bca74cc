#pragma once
#include "units/quantity.hpp"
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <variant>
#include <vector>

namespace sparecoat::formats {

// What a file may hold, said once as a tree of forms. From the same tree come the typed reader
// (formats/reader.hpp), the JSON Schema and the tables of docs/formats.md, so that they cannot disagree.

struct Form;
using FormPtr = std::shared_ptr<const Form>;

/// A quantity: a number in the SI unit of `dim`, or text with a unit. Limits as a person writes them
/// ("1 mm") and in SI; both are allowed values.
struct QuantityForm {
    Dim dim = Dim::none;
    std::string min, max;
    double min_si = 0, max_si = 0;
};
/// A plain number whose unit has no suffix to parse; `unit` is its text, may be empty.
struct NumberForm {
    std::string unit;
    double min = 0, max = 0;
};
/// A whole number.
struct WholeForm {
    int min = 0, max = 0;
};
/// true or false.
struct FlagForm {};
/// Any text but an empty one; `what` says what it is ("a name").
struct TextForm {
    std::string what;
};
/// One of some words.
struct ChoiceForm {
    std::vector<std::string> words;
};
/// Two coordinates, [u, v].
struct PointForm {
    QuantityForm coordinate;
};
/// A list of at least `min_items`.
struct ListForm {
    FormPtr item;
    int min_items = 1;
};
/// An object whose keys are free names, each with the same form of value.
struct MapForm {
    FormPtr value;
    std::string key_meaning;
};
/// Any value at all; `what` says whose form it has, which is held to elsewhere.
struct AnyForm {
    std::string what;
};
/// One of several forms, told apart by the value's JSON type, or by its being one of a choice's words.
struct EitherForm {
    std::vector<FormPtr> ways;
};

/// One key of an object.
struct Field {
    std::string key;
    FormPtr form;
    std::string meaning;
    bool required = true;
    nlohmann::json fallback;        ///< as a file would write it; null = none
    std::string where_key;          ///< allowed only where this key, which stands earlier,
    std::vector<std::string> where; ///< has one of these values; empty = always
    std::string with_key;           ///< allowed only beside this key; empty = always

    /// This field, allowed only where the choice `key` has one of the values.
    Field only_where(std::string key, std::vector<std::string> values) const;
    /// This field, allowed only where the object has `key` too.
    Field only_with(std::string key) const;
};

/// An object with known keys; any other is refused.
struct ObjectForm {
    std::vector<Field> fields;
    std::vector<std::string>
        exactly_one; ///< of these optional keys exactly one must be there; empty = no such rule

    const Field* find(const std::string& key) const;
};

struct Form {
    std::variant<QuantityForm, NumberForm, WholeForm, FlagForm, TextForm, ChoiceForm, PointForm, ListForm,
                 MapForm, AnyForm, EitherForm, ObjectForm>
        is;
};

/// Builders, so that a table of forms reads as a table.
namespace form {
FormPtr quantity(Dim dim, const std::string& min, const std::string& max);
FormPtr number(std::string unit, double min, double max);
FormPtr whole(int min, int max);
FormPtr flag();
FormPtr text(std::string what);
FormPtr choice(std::vector<std::string> words);
FormPtr point(const std::string& min, const std::string& max); ///< in length
FormPtr list(FormPtr item, int min_items);
FormPtr map(FormPtr value, std::string key_meaning);
FormPtr any(std::string what);
FormPtr either(std::vector<FormPtr> ways);
FormPtr object(std::vector<Field> fields, std::vector<std::string> exactly_one = {});

/// A key that must be there.
Field needed(std::string key, FormPtr form, std::string meaning);
/// A key that may be left out, with what then holds (written as in a file; null = nothing does).
Field optional(std::string key, FormPtr form, nlohmann::json fallback, std::string meaning);
} // namespace form

/// What a value may be, in words for an error message: "1 mm to 50 mm, as text with one of nm, ...".
std::string allowed_text(const Form& form);

/// JSON Schema (draft-07) of an object form, as indented text that ends in a line feed.
/// @param title what the schema calls the file
std::string schema_of(const ObjectForm& object, const std::string& title);

/// Every key of an object form with its values, range, need and meaning, as a Markdown table.
std::string markdown_of(const ObjectForm& object);

/// The units of every dimension, as a Markdown table.
std::string markdown_of_units();

} // namespace sparecoat::formats
