#include "study/sweep/factor.hpp"
#include "formats/nearest.hpp"
#include "units/quantity.hpp"
#include <algorithm>
#include <charconv>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::study {

using nlohmann::json;

namespace {

/// To the twelve digits that are worth writing, so that the last bits of a logarithm make no other run.
double tidy(double value) {
    const std::string text = fmt::format("{:.12g}", value);
    double out = 0;
    std::from_chars(text.data(), text.data() + text.size(), out);
    return out;
}

const Form* form_below(const Form& form, const std::string& key) {
    if (const auto* object = std::get_if<ObjectForm>(&form.is)) {
        const Field* field = object->find(key);
        return field == nullptr ? nullptr : field->form.get();
    }
    if (const auto* list = std::get_if<ListForm>(&form.is)) return list->item.get();
    if (const auto* map = std::get_if<MapForm>(&form.is)) return map->value.get();
    if (const auto* either = std::get_if<EitherForm>(&form.is))
        for (const FormPtr& way : either->ways)
            if (const Form* below = form_below(*way, key)) return below;
    return nullptr;
}

std::vector<std::string> keys_of(const Form& form) {
    std::vector<std::string> keys;
    if (const auto* object = std::get_if<ObjectForm>(&form.is))
        for (const Field& field : object->fields) keys.push_back(field.key);
    return keys;
}

/// "/foam/modulus" -> foam, modulus (RFC 6901).
std::vector<std::string> parts_of(const std::string& at, const Place& place) {
    try {
        const json::json_pointer pointer(at);
        std::vector<std::string> parts;
        for (json::json_pointer rest = pointer; !rest.empty(); rest.pop_back())
            parts.insert(parts.begin(), rest.back());
        return parts;
    } catch (const json::exception&) {
        place.refuse(shown(at), "a JSON pointer (RFC 6901)");
    }
}

/// The form of a value; of several ways the number.
Form leaf_of(PresetKind kind, const std::string& at, const Place& place) {
    const Form* form = &form_of(kind);
    Place here{"", ""};
    for (const std::string& part : parts_of(at, place)) {
        if (const auto* point = std::get_if<PointForm>(&form->is);
            point != nullptr && (part == "0" || part == "1"))
            return Form{point->coordinate};
        const Form* below = form_below(*form, part);
        if (below == nullptr) {
            const std::vector<std::string> keys = keys_of(*form);
            place.refuse(fmt::format("no \"{}\" in a {}{}", part, name_of(kind),
                                     here.pointer.empty() ? "" : " at " + here.pointer),
                         keys.empty() ? "what docs/formats.md lists" : suggestion(part, keys, "keys"));
        }
        here = here.at(part), form = below;
    }
    if (const auto* either = std::get_if<EitherForm>(&form->is))
        for (const FormPtr& way : either->ways)
            if (std::holds_alternative<QuantityForm>(way->is)) return *way;
    return *form;
}

/// What stands after the number of "30 N".
std::string unit_in(const std::string& text) {
    const auto start = text.find_first_not_of(' ');
    if (start == std::string::npos) return {};
    double number = 0;
    const char* const first = text.data() + start + (text[start] == '+' ? 1 : 0);
    const char* end = std::from_chars(first, text.data() + text.size(), number).ptr;
    while (end != text.data() + text.size() && *end == ' ') ++end;
    std::string unit(end, text.data() + text.size());
    while (!unit.empty() && unit.back() == ' ') unit.pop_back();
    return unit;
}

/// An SI value in a unit; temperatures have an offset.
double in_unit_of(double si, Dim dim, const std::string& unit) {
    const double none = parse_quantity("0 " + unit, dim);
    return tidy((si - none) / (parse_quantity("1 " + unit, dim) - none));
}

} // namespace

FactorScale::FactorScale(const SweepFactor& factor, const Place& place)
    : name_(factor.name), logarithmic_(factor.logarithmic), levels_(factor.levels), values_(factor.values) {
    const Form leaf = leaf_of(factor.of, factor.at, place.at("at"));
    if (!listed()) read_range(factor, leaf, place); // what a list holds is for the preset's own reader
}

void FactorScale::read_range(const SweepFactor& factor, const Form& leaf, const Place& place) {
    const json ends[2] = {read_form(leaf, factor.from, place.at("from")),
                          read_form(leaf, factor.to, place.at("to"))};
    if (!ends[0].is_number() || !ends[1].is_number())
        place.at("from").refuse(shown(factor.from),
                                "a number, or 'values' instead of 'from' and 'to': " + allowed_text(leaf));
    low_ = ends[0].get<double>(), high_ = ends[1].get<double>();
    whole_ = std::holds_alternative<WholeForm>(leaf.is);
    if (const auto* number = std::get_if<NumberForm>(&leaf.is)) shown_unit_ = number->unit;
    if (const auto* quantity = std::get_if<QuantityForm>(&leaf.is)) {
        if (factor.from.is_string()) unit_ = unit_in(factor.from.get<std::string>());
        shown_unit_ = unit_.empty() ? std::string(unit_of(quantity->dim)) : unit_;
        if (!unit_.empty())
            low_ = in_unit_of(low_, quantity->dim, unit_), high_ = in_unit_of(high_, quantity->dim, unit_);
    }
    if (!(low_ < high_)) place.at("to").refuse(shown(factor.to), "more than 'from'");
    if (logarithmic_ && low_ <= 0)
        place.at("from").refuse(shown(factor.from), "more than 0 where the scale is log");
}

double FactorScale::at(double x) const {
    const double high = whole_ ? high_ + 1 : high_; // every whole number has an equal part of the line
    const double value = logarithmic_ ? std::exp(std::log(low_) + x * (std::log(high) - std::log(low_)))
                                      : low_ + x * (high - low_);
    if (whole_) return std::clamp(std::floor(value), low_, high_);
    return std::clamp(tidy(value), low_, high_);
}

double FactorScale::number(double x) const {
    if (!listed()) return at(x);
    const std::size_t place =
        std::min(values_.size() - 1, static_cast<std::size_t>(x * static_cast<double>(values_.size())));
    return words() ? static_cast<double>(place) : values_[place].get<double>();
}

json FactorScale::value(double x) const {
    if (listed())
        return values_[std::min(values_.size() - 1,
                                static_cast<std::size_t>(x * static_cast<double>(values_.size())))];
    const double number = at(x);
    if (whole_) return static_cast<int>(number);
    return unit_.empty() ? json(number) : json(fmt::format("{} {}", number, unit_));
}

bool FactorScale::words() const {
    return std::ranges::any_of(values_, [](const json& value) { return !value.is_number(); });
}

std::size_t FactorScale::parts() const {
    if (listed()) return values_.size();
    return whole_ ? std::min(levels_, static_cast<std::size_t>(high_ - low_) + 1) : levels_;
}

std::size_t FactorScale::steps() const {
    constexpr std::size_t enough = 8; // parts of a range, for the eye
    if (listed()) return values_.size();
    return whole_ ? std::min(enough, static_cast<std::size_t>(high_ - low_) + 1) : enough;
}

std::string FactorScale::word(double x) const {
    if (!listed()) return fmt::format("{:.4g}{}{}", at(x), shown_unit_.empty() ? "" : " ", shown_unit_);
    const json v = value(x);
    return v.is_string() ? v.get<std::string>() : v.dump();
}

std::string FactorScale::column() const {
    return shown_unit_.empty() ? name_ : fmt::format("{} ({})", name_, shown_unit_);
}

} // namespace sparecoat::study
