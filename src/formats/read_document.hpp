#pragma once
#include "formats/kinds.hpp"
#include "formats/reader.hpp"
#include "formats/reference.hpp"
#include <fmt/format.h>

// What the readers of all kinds of documents have in common.

namespace sparecoat::formats {

/// First of all: a pad given where a machine belongs should not be told off for its unknown keys.
inline void hold_to_kind(PresetKind kind, const nlohmann::json& document, const Place& place) {
    if (!document.is_object())
        place.refuse(shown(document), fmt::format("an object that describes a {}", name_of(kind)));
    const auto found = document.find("kind");
    const std::string allowed = fmt::format("\"kind\": \"{}\"", name_of(kind));
    if (found == document.end()) place.refuse("no key 'kind'", allowed);
    if (*found != name_of(kind)) place.at("kind").refuse(shown(*found), allowed);
}

/// Holds a document to its form and has `fill` make the struct of it. The published schema is made from the
/// form; tests hold the two to each other.
template <class Fill>
auto read_document(PresetKind kind, const nlohmann::json& document, const std::string& file, Fill fill) {
    const Place root{file, ""};
    hold_to_kind(kind, document, root);
    const nlohmann::json checked = read_form(form_of(kind), document, root);
    const Values values(std::get<ObjectForm>(form_of(kind).is), checked, root);
    for (const char* shared : {"$schema", "kind", "note"}) values.has(shared);
    auto result = fill(values);
    values.done();
    return result;
}

} // namespace sparecoat::formats
