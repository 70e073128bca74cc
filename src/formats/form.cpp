#include "formats/form.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <map>
#include <set>
#include <utility>

namespace sparecoat::formats {

using nlohmann::json;
using nlohmann::ordered_json;

namespace {

/// Lets std::visit take one lambda per alternative.
template <class... Cases> struct Visit : Cases... { using Cases::operator()...; };
template <class... Cases> Visit(Cases...) -> Visit<Cases...>;

bool contains(const std::vector<std::string>& words, const std::string& word) {
    return std::ranges::find(words, word) != words.end();
}

} // namespace

Field Field::only_where(std::string other, std::vector<std::string> values) const {
    Field field = *this;
    field.where_key = std::move(other);
    field.where = std::move(values);
    return field;
}

Field Field::only_with(std::string other) const {
    Field field = *this;
    field.with_key = std::move(other);
    return field;
}

const Field* ObjectForm::find(const std::string& key) const {
    const auto field = std::ranges::find(fields, key, &Field::key);
    return field == fields.end() ? nullptr : &*field;
}

namespace form {

namespace {
FormPtr make(auto what) { return std::make_shared<const Form>(Form{std::move(what)}); }

QuantityForm quantity_form(Dim dim, const std::string& min, const std::string& max) {
    return {dim, min, max, parse_quantity(min, dim), parse_quantity(max, dim)};
}
} // namespace

FormPtr quantity(Dim dim, const std::string& min, const std::string& max) {
    return make(quantity_form(dim, min, max));
}
FormPtr number(std::string unit, double min, double max) {
    return make(NumberForm{std::move(unit), min, max});
}
FormPtr whole(int min, int max) { return make(WholeForm{min, max}); }
FormPtr flag() { return make(FlagForm{}); }
FormPtr text(std::string what) { return make(TextForm{std::move(what)}); }
FormPtr choice(std::vector<std::string> words) { return make(ChoiceForm{std::move(words)}); }
FormPtr point(const std::string& min, const std::string& max) {
    return make(PointForm{quantity_form(Dim::length, min, max)});
}
FormPtr list(FormPtr item, int min_items) { return make(ListForm{std::move(item), min_items}); }
FormPtr map(FormPtr value, std::string key_meaning) {
    return make(MapForm{std::move(value), std::move(key_meaning)});
}
FormPtr any(std::string what) { return make(AnyForm{std::move(what)}); }
FormPtr either(std::vector<FormPtr> ways) { return make(EitherForm{std::move(ways)}); }
FormPtr object(std::vector<Field> fields, std::vector<std::string> exactly_one) {
    return make(ObjectForm{std::move(fields), std::move(exactly_one)});
}

Field needed(std::string key, FormPtr form, std::string meaning) {
    Field field;
    field.key = std::move(key);
    field.form = std::move(form);
    field.meaning = std::move(meaning);
    return field;
}

Field optional(std::string key, FormPtr form, json fallback, std::string meaning) {
    Field field = needed(std::move(key), std::move(form), std::move(meaning));
    field.required = false;
    field.fallback = std::move(fallback);
    return field;
}

} // namespace form

// ---- in words ------------------------------------------------------------------------------------

namespace {

std::string writing_of(Dim dim) {
    if (dim == Dim::none) return "as a number or as text with %";
    return fmt::format("as text with one of {}, or as a number in {}", accepted_units(dim), unit_of(dim));
}

std::string with_unit(double value, const std::string& unit) {
    return unit.empty() ? fmt::format("{:g}", value) : fmt::format("{:g} {}", value, unit);
}

} // namespace

std::string allowed_text(const Form& form) {
    return std::visit(
        Visit{
            [](const QuantityForm& q) {
                return fmt::format("{} to {}, {}", q.min, q.max, writing_of(q.dim));
            },
            [](const NumberForm& n) {
                return fmt::format("a number, {:g} to {}", n.min, with_unit(n.max, n.unit));
            },
            [](const WholeForm& w) { return fmt::format("a whole number, {} to {}", w.min, w.max); },
            [](const FlagForm&) { return std::string("true or false"); },
            [](const TextForm& t) { return fmt::format("{}, as text that is not empty", t.what); },
            [](const ChoiceForm& c) { return fmt::format("one of \"{}\"", fmt::join(c.words, "\", \"")); },
            [](const PointForm& p) {
                return fmt::format("a point [u, v], each {} to {}, {}", p.coordinate.min, p.coordinate.max,
                                   writing_of(p.coordinate.dim));
            },
            [](const ListForm& l) { return fmt::format("a list of {} or more", l.min_items); },
            [](const MapForm& m) {
                return fmt::format("an object of {} with {}", m.key_meaning, allowed_text(*m.value));
            },
            [](const AnyForm& a) { return a.what; },
            [](const EitherForm& e) {
                std::string text;
                for (const FormPtr& way : e.ways) text += (text.empty() ? "" : "; or ") + allowed_text(*way);
                return text;
            },
            [](const ObjectForm& o) {
                std::vector<std::string> keys;
                for (const Field& field : o.fields) keys.push_back(field.key);
                return fmt::format("an object with the keys {}", fmt::join(keys, ", "));
            },
        },
        form.is);
}

// ---- JSON Schema ---------------------------------------------------------------------------------

namespace {

/// Builds the schema's tree; the patterns of the dimensions met on the way become its definitions.
class SchemaWriter {
public:
    ordered_json whole(const ObjectForm& object, const std::string& title) {
        ordered_json body = schema(object);
        ordered_json root{{"$schema", "http://json-schema.org/draft-07/schema#"}, {"title", title}};
        for (auto& [key, value] : body.items()) root[key] = value;
        ordered_json definitions = ordered_json::object();
        for (Dim dim : dims_)
            definitions[definition_name(dim)] = {
                {"type", "string"}, {"maxLength", longest_quantity}, {"pattern", quantity_pattern(dim)}};
        if (!definitions.empty()) root["definitions"] = definitions;
        return root;
    }

private:
    static std::string definition_name(Dim dim) {
        std::string name(name_of(dim));
        std::ranges::replace(name, ' ', '_');
        return name;
    }

    static ordered_json only(const std::string& key) { return ordered_json::array({key}); }

    ordered_json schema(const Form& form) {
        return std::visit([this](const auto& f) { return schema(f); }, form.is);
    }

    ordered_json schema(const QuantityForm& q) {
        dims_.insert(q.dim);
        return {
            {"anyOf", ordered_json::array({{{"type", "number"}, {"minimum", q.min_si}, {"maximum", q.max_si}},
                                           {{"$ref", "#/definitions/" + definition_name(q.dim)}}})}};
    }
    ordered_json schema(const NumberForm& n) {
        return {{"type", "number"}, {"minimum", n.min}, {"maximum", n.max}};
    }
    ordered_json schema(const WholeForm& w) {
        return {{"type", "integer"}, {"minimum", w.min}, {"maximum", w.max}};
    }
    ordered_json schema(const FlagForm&) { return {{"type", "boolean"}}; }
    ordered_json schema(const TextForm&) { return {{"type", "string"}, {"minLength", 1}}; }
    ordered_json schema(const ChoiceForm& c) { return {{"enum", c.words}}; }
    ordered_json schema(const PointForm& p) {
        return {{"type", "array"}, {"items", schema(p.coordinate)}, {"minItems", 2}, {"maxItems", 2}};
    }
    ordered_json schema(const ListForm& l) {
        return {{"type", "array"}, {"items", schema(*l.item)}, {"minItems", l.min_items}};
    }
    ordered_json schema(const MapForm& m) {
        return {{"type", "object"}, {"additionalProperties", schema(*m.value)}, {"minProperties", 1}};
    }
    ordered_json schema(const AnyForm&) { return ordered_json::object(); }
    ordered_json schema(const EitherForm& e) {
        ordered_json ways = ordered_json::array();
        for (const FormPtr& way : e.ways) ways.push_back(schema(*way));
        return {{"anyOf", ways}};
    }

    ordered_json schema(const ObjectForm& object) {
        ordered_json properties = ordered_json::object(), required = ordered_json::array();
        ordered_json dependencies = ordered_json::object();
        for (const Field& field : object.fields) {
            ordered_json property = schema(*field.form);
            property["description"] = describe(field);
            if (!field.fallback.is_null()) property["default"] = field.fallback;
            properties[field.key] = property;
            if (field.required && field.where.empty()) required.push_back(field.key);
            if (!field.with_key.empty()) dependencies[field.key] = only(field.with_key);
        }
        ordered_json result{{"type", "object"}, {"properties", properties}};
        if (!required.empty()) result["required"] = required;
        result["additionalProperties"] = false;
        if (!dependencies.empty()) result["dependencies"] = dependencies;
        if (!object.exactly_one.empty()) {
            ordered_json ways = ordered_json::array();
            for (const std::string& key : object.exactly_one) ways.push_back({{"required", only(key)}});
            result["oneOf"] = ways;
        }
        const ordered_json conditions = conditions_of(object);
        if (!conditions.empty()) result["allOf"] = conditions;
        return result;
    }

    static std::string describe(const Field& field) {
        const auto* q = std::get_if<QuantityForm>(&field.form->is);
        return q == nullptr ? field.meaning : fmt::format("{} ({} to {})", field.meaning, q->min, q->max);
    }

    /// "Only where" as if, then, else: a field is refused where its condition fails and, if needed,
    /// required where it holds.
    static ordered_json conditions_of(const ObjectForm& object) {
        ordered_json conditions = ordered_json::array();
        for (const Field& field : object.fields) {
            if (field.where.empty()) continue;
            ordered_json condition{{"properties", {{field.where_key, {{"enum", field.where}}}}}};
            // Left out, the other key has its default; only where that meets the condition may it be missing.
            const json& fallback = object.find(field.where_key)->fallback;
            const bool met = fallback.is_string() && contains(field.where, fallback.get<std::string>());
            if (!met) condition["required"] = only(field.where_key);
            ordered_json rule{{"if", condition}};
            rule["then"] =
                field.required ? ordered_json{{"required", only(field.key)}} : ordered_json::object();
            rule["else"] = {{"not", {{"required", only(field.key)}}}};
            conditions.push_back(rule);
        }
        return conditions;
    }

    std::set<Dim> dims_;
};

} // namespace

std::string schema_of(const ObjectForm& object, const std::string& title) {
    return SchemaWriter().whole(object, title).dump(2) + "\n";
}

// ---- Markdown ------------------------------------------------------------------------------------

namespace {

struct Cells {
    std::string value, range;
};

Cells cells_of(const Form& form) {
    return std::visit(
        Visit{
            [](const QuantityForm& q) {
                return Cells{q.dim == Dim::none ? "number or %" : std::string(name_of(q.dim)),
                             fmt::format("{} to {}", q.min, q.max)};
            },
            [](const NumberForm& n) {
                return Cells{n.unit.empty() ? "number" : "number in " + n.unit,
                             fmt::format("{:g} to {:g}", n.min, n.max)};
            },
            [](const WholeForm& w) {
                return Cells{"whole number", fmt::format("{} to {}", w.min, w.max)};
            },
            [](const FlagForm&) {
                return Cells{"true or false", ""};
            },
            [](const TextForm& t) {
                return Cells{t.what, ""};
            },
            [](const ChoiceForm& c) {
                return Cells{c.words.size() == 1
                                 ? fmt::format("`\"{}\"`", c.words.front())
                                 : fmt::format("one of `\"{}\"`", fmt::join(c.words, "\"`, `\"")),
                             ""};
            },
            [](const PointForm& p) {
                return Cells{"point: two lengths",
                             fmt::format("{} to {}", p.coordinate.min, p.coordinate.max)};
            },
            [](const ListForm& l) {
                const bool objects = std::holds_alternative<ObjectForm>(l.item->is);
                return Cells{objects ? "list of objects" : "list: each a " + cells_of(*l.item).value,
                             fmt::format("{} or more{}", l.min_items,
                                         objects ? "" : "; each " + cells_of(*l.item).range)};
            },
            [](const MapForm& m) {
                return Cells{fmt::format("object: {} with {}", m.key_meaning, cells_of(*m.value).value), ""};
            },
            [](const AnyForm& a) {
                return Cells{a.what, ""};
            },
            [](const EitherForm& e) {
                Cells all;
                for (const FormPtr& way : e.ways) {
                    const Cells cells = cells_of(*way);
                    all.value += (all.value.empty() ? "" : ", or ") + cells.value;
                    if (all.range.empty()) all.range = cells.range;
                }
                return all;
            },
            [](const ObjectForm&) {
                return Cells{"object", ""};
            },
        },
        form.is);
}

std::string need_of(const Field& field, const ObjectForm& object) {
    std::string text = field.required ? "yes" : "no";
    if (!field.fallback.is_null()) text = fmt::format("no: `{}`", field.fallback.dump());
    if (contains(object.exactly_one, field.key)) {
        std::vector<std::string> others;
        std::ranges::remove_copy(object.exactly_one, std::back_inserter(others), field.key);
        text = fmt::format("yes, or `{}`", fmt::join(others, "` or `"));
    }
    if (!field.where.empty())
        text += fmt::format("; only where `{}` is `{}`", field.where_key, fmt::join(field.where, "` or `"));
    if (!field.with_key.empty()) text += fmt::format("; only beside `{}`", field.with_key);
    return text;
}

void add_rows(const ObjectForm& object, const std::string& prefix, std::string& table) {
    for (const Field& field : object.fields) {
        const Cells cells = cells_of(*field.form);
        table += fmt::format("| `{}{}` | {} | {} | {} | {} |\n", prefix, field.key, cells.value, cells.range,
                             need_of(field, object), field.meaning);
        if (const auto* inner = std::get_if<ObjectForm>(&field.form->is))
            add_rows(*inner, prefix + field.key + ".", table);
        if (const auto* list = std::get_if<ListForm>(&field.form->is))
            if (const auto* item = std::get_if<ObjectForm>(&list->item->is))
                add_rows(*item, prefix + field.key + "[].", table);
    }
}

} // namespace

std::string markdown_of(const ObjectForm& object) {
    std::string table =
        "| Key | Value | Range | Needed, or else | Meaning |\n| --- | --- | --- | --- | --- |\n";
    add_rows(object, "", table);
    return table;
}

std::string markdown_of_units() {
    std::string table = "| Quantity | A JSON number is in | Text may use |\n| --- | --- | --- |\n";
    for (Dim dim : all_dims()) {
        const std::string si(unit_of(dim));
        table += fmt::format("| {} | {} | {} |\n", name_of(dim), si.empty() ? "1" : si,
                             dim == Dim::none ? "no unit, or %" : accepted_units(dim));
    }
    return table;
}

} // namespace sparecoat::formats
