#include "formats/reader.hpp"
#include "formats/nearest.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <fstream>
#include <sstream>
#include <stdexcept>

namespace sparecoat::formats {

using nlohmann::json;

// ---- places --------------------------------------------------------------------------------------

Place Place::at(const std::string& key) const {
    std::string escaped; // RFC 6901: ~ is ~0, / is ~1
    for (char c : key) {
        if (c == '~') escaped += "~0";
        else if (c == '/') escaped += "~1";
        else escaped += c;
    }
    return {file, pointer + "/" + escaped};
}

Place Place::at(std::size_t index) const { return {file, pointer + "/" + std::to_string(index)}; }

void Place::refuse(const std::string& found, const std::string& allowed) const {
    throw InputError(file, pointer, found, allowed);
}

std::string shown(const json& value) {
    constexpr std::size_t longest = 60;
    std::string text = value.dump(-1, ' ', false, json::error_handler_t::replace);
    if (text.size() <= longest) return text;
    std::size_t cut = longest;
    // Not in the middle of a UTF-8 character.
    while (cut > 0 && (static_cast<unsigned char>(text[cut]) & 0xC0U) == 0x80U) --cut;
    return text.substr(0, cut) + "...";
}

// ---- JSON text -----------------------------------------------------------------------------------

namespace {

/// "line 3, column 5" of the byte before `bytes_read`, counted from 1.
std::string line_and_column(const std::string& text, std::size_t bytes_read) {
    const std::size_t end = std::min(bytes_read == 0 ? 0 : bytes_read - 1, text.size());
    const std::size_t line = 1 + static_cast<std::size_t>(std::count(
                                     text.begin(), text.begin() + static_cast<std::ptrdiff_t>(end), '\n'));
    const std::size_t line_start = end == 0 ? std::string::npos : text.rfind('\n', end - 1);
    const std::size_t column = line_start == std::string::npos ? end + 1 : end - line_start;
    return fmt::format("line {}, column {}", line, column);
}

/// Builds the document event by event, because the library's own builder keeps the last of two equal
/// keys without a word and does not say where a number is too large.
class Builder final : public json::json_sax_t {
public:
    Builder(const std::string& text, std::string file) : text_(text) {
        open_.push_back({&root_, {std::move(file), ""}, {}});
    }

    json take() { return std::move(root_); }

    bool null() override { return add(nullptr) != nullptr; }
    bool boolean(bool value) override { return add(value) != nullptr; }
    bool number_integer(number_integer_t value) override { return add(value) != nullptr; }
    bool number_unsigned(number_unsigned_t value) override { return add(value) != nullptr; }
    bool number_float(number_float_t value, const string_t&) override { return add(value) != nullptr; }
    bool string(string_t& value) override { return add(value) != nullptr; }
    bool binary(binary_t&) override { return false; }

    bool start_object(std::size_t) override { return start(json::object()); }
    bool start_array(std::size_t) override { return start(json::array()); }
    bool end_object() override { return end(); }
    bool end_array() override { return end(); }

    bool key(string_t& name) override {
        Open& object = open_.back();
        if (object.value->contains(name))
            object.place.at(name).refuse(fmt::format("the key '{}' a second time", name), "each key once");
        object.key = name;
        return true;
    }

    bool parse_error(std::size_t position, const std::string& last,
                     const nlohmann::detail::exception& error) override {
        const std::string where = line_and_column(text_, position);
        const std::string& file = open_.front().place.file;
        constexpr int number_overflow = 406;
        if (error.id == number_overflow)
            throw InputError(file, where, fmt::format("the number {}, too large to be kept", last),
                             "a finite number");
        std::string reason = error.what();
        const auto colon = reason.rfind(" - ");
        reason = colon == std::string::npos ? "" : " (" + reason.substr(colon + 3) + ")";
        throw InputError(file, where, "text that is not JSON" + reason, "a JSON document (RFC 8259)");
    }

private:
    struct Open {
        json* value;
        Place place;
        std::string key; ///< of the object's value to come
    };

    /// Puts a value where the next one belongs and returns it there.
    json* add(json value) {
        Open& parent = open_.back();
        if (parent.value->is_object()) return &((*parent.value)[parent.key] = std::move(value));
        if (parent.value->is_array()) return &parent.value->emplace_back(std::move(value));
        return &(*parent.value = std::move(value)); // the document itself
    }

    bool start(json empty) {
        if (open_.size() > deepest)
            open_.front().place.refuse(fmt::format("values nested more than {} deep", deepest),
                                       "what the format needs");
        const Open& parent = open_.back();
        Place place = parent.place;
        if (parent.value->is_object()) place = place.at(parent.key);
        if (parent.value->is_array()) place = place.at(parent.value->size());
        json* value = add(std::move(empty));
        open_.push_back({value, std::move(place), {}});
        return true;
    }

    bool end() {
        open_.pop_back();
        return true;
    }

    static constexpr std::size_t deepest = 64;
    const std::string& text_;
    json root_;
    std::vector<Open> open_;
};

} // namespace

json parse_json(const std::string& text, const std::string& file) {
    Builder builder(text, file);
    json::sax_parse(text, &builder);
    return builder.take();
}

std::string load_text(const std::filesystem::path& path, std::uintmax_t largest) {
    std::error_code error;
    const auto status = std::filesystem::status(path, error);
    if (!std::filesystem::exists(status)) throw InputError(path.string(), "", "no such file", "a JSON file");
    if (!std::filesystem::is_regular_file(status))
        throw InputError(path.string(), "", "something that is not a plain file", "a JSON file");
    if (const auto size = std::filesystem::file_size(path, error); !error && size > largest)
        throw InputError(path.string(), "", fmt::format("a file of {} bytes", size),
                         fmt::format("up to {} bytes", largest));
    std::ifstream stream(path, std::ios::binary);
    std::ostringstream text;
    text << stream.rdbuf();
    if (!stream) throw InputError(path.string(), "", "a file that cannot be read", "a readable JSON file");
    return std::move(text).str();
}

json load_json(const std::filesystem::path& path, std::uintmax_t largest) {
    return parse_json(load_text(path, largest), path.string());
}

// ---- a value held to its form ---------------------------------------------------------------------

namespace {

class Reader {
public:
    json read(const Form& form, const json& value, const Place& place) const {
        return std::visit([&](const auto& f) { return read(f, form, value, place); }, form.is);
    }

private:
    [[noreturn]] static void refuse(const Form& form, const std::string& found, const Place& place) {
        place.refuse(found, allowed_text(form));
    }
    [[noreturn]] static void refuse(const Form& form, const json& value, const Place& place) {
        refuse(form, shown(value), place);
    }

    static json read(const QuantityForm& q, const Form& form, const json& value, const Place& place) {
        double si = 0;
        if (value.is_number()) {
            si = value.get<double>();
        } else if (value.is_string()) {
            try {
                si = parse_quantity(value.get_ref<const std::string&>(), q.dim);
            } catch (const std::invalid_argument& error) {
                refuse(form, std::string(error.what()), place);
            }
        } else {
            refuse(form, value, place);
        }
        if (si < q.min_si || si > q.max_si) {
            // A bare number is easily meant in another unit: say what it came to.
            const bool bare = value.is_number() && q.dim != Dim::none;
            refuse(form, shown(value) + (bare ? fmt::format(" ({})", print_quantity(si, q.dim)) : ""), place);
        }
        return si;
    }

    static json read(const NumberForm& n, const Form& form, const json& value, const Place& place) {
        if (!value.is_number() || value.get<double>() < n.min || value.get<double>() > n.max)
            refuse(form, value, place);
        return value.get<double>();
    }

    static json read(const WholeForm& w, const Form& form, const json& value, const Place& place) {
        if (!value.is_number_integer() || value.get<double>() < w.min || value.get<double>() > w.max)
            refuse(form, value, place);
        return value;
    }

    static json read(const FlagForm&, const Form& form, const json& value, const Place& place) {
        if (!value.is_boolean()) refuse(form, value, place);
        return value;
    }

    static json read(const TextForm&, const Form& form, const json& value, const Place& place) {
        if (!value.is_string() || value.get_ref<const std::string&>().empty()) refuse(form, value, place);
        return value;
    }

    static json read(const ChoiceForm& c, const Form& form, const json& value, const Place& place) {
        if (!value.is_string()) refuse(form, value, place);
        const auto& word = value.get_ref<const std::string&>();
        if (std::ranges::find(c.words, word) == c.words.end())
            place.refuse(shown(value), suggestion(word, c.words, "known words"));
        return value;
    }

    json read(const PointForm& p, const Form& form, const json& value, const Place& place) const {
        if (!value.is_array() || value.size() != 2) refuse(form, value, place);
        const Form coordinate{p.coordinate};
        return json::array(
            {read(coordinate, value[0], place.at(0)), read(coordinate, value[1], place.at(1))});
    }

    json read(const ListForm& l, const Form& form, const json& value, const Place& place) const {
        if (!value.is_array()) refuse(form, value, place);
        if (value.size() < static_cast<std::size_t>(l.min_items))
            refuse(form, fmt::format("a list of {}", value.size()), place);
        json items = json::array();
        for (std::size_t i = 0; i < value.size(); ++i) items.push_back(read(*l.item, value[i], place.at(i)));
        return items;
    }

    json read(const MapForm& m, const Form& form, const json& value, const Place& place) const {
        if (!value.is_object() || value.empty()) refuse(form, value, place);
        json entries = json::object();
        for (const auto& [key, entry] : value.items()) entries[key] = read(*m.value, entry, place.at(key));
        return entries;
    }

    static json read(const AnyForm&, const Form&, const json& value, const Place&) { return value; }

    json read(const EitherForm& e, const Form& form, const json& value, const Place& place) const {
        for (const FormPtr& way : e.ways) {
            if (!looks_like(*way, value)) continue;
            try {
                return read(*way, value, place);
            } catch (const InputError& error) {
                if (error.place() != place.pointer) throw; // further in: that message says it best
                place.refuse(error.found(), allowed_text(form));
            }
        }
        refuse(form, value, place);
    }

    /// Whether a value is meant as this form: enough to tell the ways of an EitherForm apart.
    static bool looks_like(const Form& form, const json& value) {
        if (const auto* choice = std::get_if<ChoiceForm>(&form.is))
            return value.is_string() &&
                   std::ranges::find(choice->words, value.get<std::string>()) != choice->words.end();
        if (std::holds_alternative<QuantityForm>(form.is)) return value.is_number() || value.is_string();
        if (std::holds_alternative<MapForm>(form.is)) return value.is_object();
        throw std::logic_error("a form that an EitherForm cannot tell from others");
    }

    json read(const ObjectForm& o, const Form& form, const json& value, const Place& place) const {
        if (!value.is_object()) refuse(form, value, place);
        refuse_unknown_keys(o, value, place);
        if (!o.exactly_one.empty()) hold_to_exactly_one(o, value, place);
        json object = json::object();
        for (const Field& field : o.fields) {
            if (field.where.empty() || is_where(field, object)) {
                read_field(field, value, place, object);
            } else if (value.contains(field.key)) {
                const json& other = object[field.where_key];
                place.at(field.key).refuse(
                    fmt::format("'{}' where '{}' is {}", field.key, field.where_key, shown(other)),
                    fmt::format("only where '{}' is \"{}\"", field.where_key,
                                fmt::join(field.where, "\" or \"")));
            }
        }
        return object;
    }

    static void refuse_unknown_keys(const ObjectForm& o, const json& value, const Place& place) {
        for (const auto& [key, unused] : value.items()) {
            if (o.find(key) != nullptr) continue;
            std::vector<std::string> known;
            for (const Field& field : o.fields) known.push_back(field.key);
            place.at(key).refuse(fmt::format("unknown key '{}'", key), suggestion(key, known, "known keys"));
        }
    }

    static void hold_to_exactly_one(const ObjectForm& o, const json& value, const Place& place) {
        std::vector<std::string> there;
        std::ranges::copy_if(o.exactly_one, std::back_inserter(there),
                             [&](const auto& key) { return value.contains(key); });
        if (there.size() == 1) return;
        place.refuse(there.empty() ? std::string("none of these keys")
                                   : fmt::format("the keys '{}' together", fmt::join(there, "' and '")),
                     fmt::format("exactly one of '{}'", fmt::join(o.exactly_one, "', '")));
    }

    static bool is_where(const Field& field, const json& object_so_far) {
        const auto other = object_so_far.find(field.where_key);
        if (other == object_so_far.end())
            throw std::logic_error("'" + field.where_key + "' must stand before '" + field.key + "'");
        return std::ranges::find(field.where, other->get<std::string>()) != field.where.end();
    }

    void read_field(const Field& field, const json& value, const Place& place, json& object) const {
        const auto entry = value.find(field.key);
        if (entry != value.end()) {
            if (!field.with_key.empty() && !value.contains(field.with_key))
                place.at(field.key).refuse(fmt::format("'{}' without '{}'", field.key, field.with_key),
                                           fmt::format("only beside '{}'", field.with_key));
            object[field.key] = read(*field.form, *entry, place.at(field.key));
        } else if (field.required) {
            place.refuse(fmt::format("no key '{}'", field.key),
                         fmt::format("'{}' ({}): {}", field.key, field.meaning, allowed_text(*field.form)));
        } else if (!field.fallback.is_null()) {
            object[field.key] = read(*field.form, field.fallback, place.at(field.key));
        }
    }
};

} // namespace

json read_form(const Form& form, const json& value, const Place& place) {
    return Reader().read(form, value, place);
}

// ---- values into structs --------------------------------------------------------------------------

bool Values::has(const std::string& key) const {
    if (form_->find(key) == nullptr) throw std::logic_error("no key '" + key + "' in the form");
    read_.insert(key);
    return object_->contains(key);
}

const json& Values::raw(const std::string& key) const {
    if (!has(key)) throw std::logic_error("the key '" + key + "' may be missing and was not asked for");
    return object_->at(key);
}

double Values::number(const std::string& key, double missing) const {
    return has(key) ? raw(key).get<double>() : missing;
}

int Values::whole(const std::string& key) const { return raw(key).get<int>(); }

bool Values::flag(const std::string& key, bool missing) const {
    return has(key) ? raw(key).get<bool>() : missing;
}

std::string Values::text(const std::string& key, const std::string& missing) const {
    return has(key) ? raw(key).get<std::string>() : missing;
}

namespace {
Point2 to_point(const json& pair) { return {pair.at(0).get<double>(), pair.at(1).get<double>()}; }
} // namespace

Point2 Values::point(const std::string& key) const { return to_point(raw(key)); }

std::vector<Point2> Values::points(const std::string& key) const {
    std::vector<Point2> points;
    for (const json& pair : raw(key)) points.push_back(to_point(pair));
    return points;
}

Values Values::object(const std::string& key) const {
    return {std::get<ObjectForm>(form_->find(key)->form->is), raw(key), place_.at(key)};
}

std::vector<Values> Values::objects(const std::string& key) const {
    if (!has(key)) return {};
    const auto& list = std::get<ListForm>(form_->find(key)->form->is);
    std::vector<Values> items;
    for (const json& item : raw(key))
        items.emplace_back(std::get<ObjectForm>(list.item->is), item, place_.at(key).at(items.size()));
    return items;
}

void Values::done() const {
    for (const auto& [key, unused] : object_->items())
        if (!read_.contains(key))
            throw std::logic_error("the key '" + place_.at(key).pointer + "' was never read");
}

} // namespace sparecoat::formats
