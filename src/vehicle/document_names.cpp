#include "vehicle/document_names.hpp"
#include "formats/reference.hpp"
#include "units/error.hpp"
#include <fmt/format.h>
#include <map>
#include <nlohmann/json.hpp>

namespace sparecoat::vehicle {

using nlohmann::json;

SizedReference without_size(const std::string& kind, const std::string& reference) {
    if (kind != "pad") return {reference, ""};
    const auto mark = reference.rfind(is_path(reference) ? '#' : '-');
    if (mark == std::string::npos) return {reference, ""};
    return {reference.substr(0, mark), reference.substr(mark + 1)};
}

namespace {

constexpr std::string_view files_beside_panels = "../files/";

} // namespace

std::string name_of_file(const std::string& reference) {
    return std::string(files_beside_panels) + reference;
}

std::string file_named(const std::string& name) {
    if (!name.starts_with(files_beside_panels)) return "";
    std::string reference = name.substr(files_beside_panels.size());
    return is_plain_name(reference) ? reference : "";
}

bool is_plain_name(const std::string& reference) {
    return !reference.empty() && reference.front() != '.' &&
           reference.find_first_of("/\\") == std::string::npos;
}

void hold_to_form(const std::string& kind, const json& body, const std::string& file,
                  const std::function<AttachedFile(const std::string& written)>& find) {
    using Read = void (*)(const json&, const std::string&);
    static const std::map<std::string, Read> readers = {
        {"machine", [](const json& b, const std::string& f) { read_machine(b, f); }},
        {"pad", [](const json& b, const std::string& f) { read_pads(b, f); }},
        {"liquid", [](const json& b, const std::string& f) { read_liquid(b, f); }},
        {"paint", [](const json& b, const std::string& f) { read_paint(b, f); }},
        {"substrate", [](const json& b, const std::string& f) { read_substrate(b, f); }},
        {"technique", [](const json& b, const std::string& f) { read_technique(b, f); }},
        {"defects", [](const json& b, const std::string& f) { read_defects(b, f); }},
        {"kit", [](const json& b, const std::string& f) { read_kit(b, f); }},
    };
    if (kind == "panel") {
        read_panel(body, file, find);
        return;
    }
    const auto read = readers.find(kind);
    if (read == readers.end()) throw InputError(file, "", fmt::format("a {}", kind), "what a job is made of");
    read->second(body, file);
}

void each_name_in(
    const std::string& kind, json& body,
    const std::function<void(const std::string& kind, json& name, const std::string& place)>& see) {
    const auto under = [](json* object, const char* key) -> json* {
        if (!object || !object->is_object()) return nullptr;
        const auto found = object->find(key);
        return found == object->end() ? nullptr : &*found;
    };
    const auto one = [&](const char* named, json* name, const std::string& place) {
        if (name && name->is_string()) see(named, *name, place);
    };
    const auto all_in = [&](const char* named, json* list, const std::string& place) {
        if (!list || !list->is_array()) return;
        for (std::size_t k = 0; k < list->size(); ++k)
            one(named, &(*list)[k], fmt::format("{}/{}", place, k));
    };
    if (kind == "panel") {
        one("substrate", under(&body, "substrate"), "/substrate");
        for (const char* source : {"height_map", "mesh"})
            one(file_kind, under(under(&body, source), "file"), fmt::format("/{}/file", source));
    } else if (kind == "technique") {
        for (const char* tool : {"machine", "pad", "liquid"})
            one(tool, under(&body, tool), fmt::format("/{}", tool));
    } else if (kind == "kit") {
        json* machines = under(&body, "machines");
        const std::size_t count = machines && machines->is_array() ? machines->size() : 0;
        const auto place = [](std::size_t k, const char* key) {
            return fmt::format("/machines/{}/{}", k, key);
        };
        for (std::size_t k = 0; k < count; ++k) {
            one("machine", under(&(*machines)[k], "machine"), place(k, "machine"));
            all_in("pad", under(&(*machines)[k], "pads"), place(k, "pads"));
        }
        all_in("pad", under(&body, "pads"), "/pads");
        all_in("liquid", under(&body, "liquids"), "/liquids");
        for (std::size_t k = 0; k < count; ++k) // last: they are among the kit's, whose order counts
            all_in("liquid", under(&(*machines)[k], "liquids"), place(k, "liquids"));
    }
}

} // namespace sparecoat::vehicle
