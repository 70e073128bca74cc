#include "formats/kinds.hpp"
#include "formats/form.hpp"
#include "formats/kind_forms.hpp"
#include "formats/nearest.hpp"
#include "units/error.hpp"
#include <array>
#include <cmath>
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <optional>
#include <stdexcept>
#include <utility>

namespace sparecoat::formats {

using namespace form;

namespace {

struct KindNames {
    PresetKind kind;
    std::string_view name, folder;
};
constexpr std::array kinds{
    KindNames{PresetKind::machine, "machine", "machines"},
    KindNames{PresetKind::pad, "pad", "pads"},
    KindNames{PresetKind::liquid, "liquid", "liquids"},
    KindNames{PresetKind::paint, "paint", "paints"},
    KindNames{PresetKind::substrate, "substrate", "substrates"},
    KindNames{PresetKind::panel, "panel", "panels"},
    KindNames{PresetKind::technique, "technique", "techniques"},
    KindNames{PresetKind::lesson, "lesson", "lessons"},
    KindNames{PresetKind::defects, "defects", "defects"},
    KindNames{PresetKind::kit, "kit", "kits"},
    KindNames{PresetKind::record, "record", "records"},
    KindNames{PresetKind::shop, "shop", "shops"},
    KindNames{PresetKind::sweep, "sweep", "sweeps"},
};

const KindNames& names(PresetKind kind) { return kinds[static_cast<std::size_t>(kind)]; }

FormPtr make_form(PresetKind kind) {
    switch (kind) {
    case PresetKind::machine: return machine_form();
    case PresetKind::pad: return pad_form();
    case PresetKind::liquid: return liquid_form();
    case PresetKind::paint: return paint_form();
    case PresetKind::substrate: return substrate_form();
    case PresetKind::panel: return panel_form();
    case PresetKind::technique: return technique_form();
    case PresetKind::lesson: return lesson_form();
    case PresetKind::defects: return defects_form();
    case PresetKind::kit: return kit_form();
    case PresetKind::record: return record_form();
    case PresetKind::shop: return shop_form();
    case PresetKind::sweep: return sweep_form();
    }
    throw std::logic_error("no such kind of preset");
}

const ObjectForm& object_form(PresetKind kind) { return std::get<ObjectForm>(form_of(kind).is); }

} // namespace

std::vector<PresetKind> all_preset_kinds() {
    std::vector<PresetKind> all;
    for (const KindNames& k : kinds) all.push_back(k.kind);
    return all;
}

std::string_view name_of(PresetKind kind) { return names(kind).name; }
std::string_view folder_of(PresetKind kind) { return names(kind).folder; }

FormPtr preset(PresetKind kind, std::vector<Field> own, std::vector<std::string> exactly_one) {
    std::vector<Field> fields{
        optional("$schema", text("path or address"), nullptr,
                 "for editors that complete and check by schema; not used"),
        needed("kind", choice({std::string(name_of(kind))}), "what the file describes"),
        needed("name", text("text"), "for lists and reports"),
        optional("note", text("text"), nullptr, "where the values come from, what to watch"),
    };
    fields.insert(fields.end(), own.begin(), own.end());
    return object(std::move(fields), std::move(exactly_one));
}

PresetKind preset_kind(std::string_view name) {
    std::vector<std::string> known;
    for (const KindNames& k : kinds) {
        if (name == k.name || name == k.folder) return k.kind;
        known.emplace_back(k.folder);
    }
    throw InputError("", "", fmt::format("no kind of preset \"{}\"", name), suggestion(name, known, "kinds"));
}

const Form& form_of(PresetKind kind) {
    static const std::vector<FormPtr> forms = [] {
        std::vector<FormPtr> made;
        for (PresetKind k : all_preset_kinds()) made.push_back(make_form(k));
        return made;
    }();
    return *forms[static_cast<std::size_t>(kind)];
}

namespace {

/// The limits of a form, or of the first way of several that has any.
std::optional<Limits> limits_in(const Form& form) {
    if (const auto* quantity = std::get_if<QuantityForm>(&form.is))
        return Limits{quantity->min_si, quantity->max_si};
    if (const auto* number = std::get_if<NumberForm>(&form.is)) return Limits{number->min, number->max};
    if (const auto* whole = std::get_if<WholeForm>(&form.is))
        return Limits{static_cast<double>(whole->min), static_cast<double>(whole->max)};
    if (const auto* point = std::get_if<PointForm>(&form.is))
        return Limits{point->coordinate.min_si, point->coordinate.max_si};
    if (const auto* either = std::get_if<EitherForm>(&form.is))
        for (const FormPtr& way : either->ways)
            if (const auto limits = limits_in(*way)) return limits;
    return std::nullopt;
}

} // namespace

Limits Limits::in(double unit_si) const {
    const auto rounded = [unit_si](double si) { return std::round(si / unit_si * 1e6) / 1e6; };
    return {rounded(low), rounded(high)};
}

Limits limits_of(PresetKind kind, std::string_view pointer) {
    const Form* form = &form_of(kind);
    for (std::string_view rest = pointer; form && !rest.empty();) {
        rest.remove_prefix(1); // its slash
        const std::string key(rest.substr(0, rest.find('/')));
        rest.remove_prefix(key.size());
        const auto* object = std::get_if<ObjectForm>(&form->is);
        const Field* field = object ? object->find(key) : nullptr;
        form = field ? field->form.get() : nullptr;
    }
    const std::optional<Limits> limits = form ? limits_in(*form) : std::nullopt;
    if (!limits) throw std::logic_error(fmt::format("no number at {} of a {}", pointer, name_of(kind)));
    return *limits;
}

std::string schema_text(PresetKind kind) {
    return schema_of(object_form(kind), fmt::format("Sparecoat {}", name_of(kind)));
}

std::string format_table(PresetKind kind) { return markdown_of(object_form(kind)); }

} // namespace sparecoat::formats
