#pragma once
#include "formats/form.hpp"
#include "panel/panel.hpp"
#include "units/error.hpp"
#include <cstdint>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>
#include <string>
#include <vector>

namespace sparecoat::formats {

/// A place in a file, for messages: its name and the JSON pointer (RFC 6901) to a value in it.
struct Place {
    std::string file, pointer;

    Place at(const std::string& key) const;
    Place at(std::size_t index) const;
    [[noreturn]] void refuse(const std::string& found, const std::string& allowed) const;
};

/// Reads a JSON file.
/// @throws InputError: no such file, a folder, over `largest` bytes; bad syntax and a number too large for a
/// double with "line N, column M"; the same key twice in an object with the JSON pointer.
nlohmann::json load_json(const std::filesystem::path& path, std::uintmax_t largest = 4U << 20U);

/// Its text alone, for who reads it in a way of their own. @throws InputError: no such file, a folder, too
/// large.
std::string load_text(const std::filesystem::path& path, std::uintmax_t largest = 4U << 20U);

/// The same from text; `file` is for messages.
nlohmann::json parse_json(const std::string& text, const std::string& file);

/// A value as a message shows it: its JSON on one line, cut where it is long.
std::string shown(const nlohmann::json& value);

/// Holds a value to its form and returns it with every quantity as an SI number and every fallback
/// filled in.
/// @throws InputError with the JSON pointer: wrong type, unknown key, missing key, key out of place,
/// unit missing or wrong, value out of range.
nlohmann::json read_form(const Form& form, const nlohmann::json& value, const Place& place);

/// An object as read_form returned it, read key by key into a struct. Asking for a key that the form
/// does not have, or leaving one of the file's unread (see done), is a mistake in this program and
/// throws std::logic_error, so that the tables and the structs cannot drift apart unseen.
class Values {
public:
    Values(const ObjectForm& form, const nlohmann::json& object, Place place)
        : form_(&form), object_(&object), place_(std::move(place)) {}

    const Place& place() const { return place_; }
    bool has(const std::string& key) const;

    /// SI; `missing` where the file has no such key.
    double number(const std::string& key, double missing = 0) const;
    int whole(const std::string& key) const;
    bool flag(const std::string& key, bool missing = false) const;
    std::string text(const std::string& key, const std::string& missing = {}) const;
    Point2 point(const std::string& key) const;
    std::vector<Point2> points(const std::string& key) const;
    Values object(const std::string& key) const;
    std::vector<Values> objects(const std::string& key) const;
    /// The checked JSON itself, for a key of several forms.
    const nlohmann::json& raw(const std::string& key) const;

    /// Every key of the object has been read.
    /// @throws std::logic_error naming one that has not
    void done() const;

private:
    const ObjectForm* form_;
    const nlohmann::json* object_;
    Place place_;
    mutable std::set<std::string> read_;
};

} // namespace sparecoat::formats
