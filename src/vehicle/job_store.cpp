#include "vehicle/job_store.hpp"
#include "formats/encoding.hpp"
#include "formats/reader.hpp"
#include "formats/reference.hpp"
#include "vehicle/document_names.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <iterator>
#include <stdexcept>

namespace sparecoat::vehicle {

using nlohmann::json;

namespace {

/// "panels", as a folder of presets has it; "files" for those that panels name.
std::string folder_in_job(const std::string& kind) {
    return kind == file_kind ? "files" : std::string(folder_of(preset_kind(kind)));
}

/// @throws InputError where a document names what is not a name within the job.
void hold_names_to_job(const std::string& kind, json& body, const std::string& file) {
    each_name_in(kind, body, [&](const std::string& named, json& name, const std::string& place) {
        const auto written = name.get<std::string>();
        if (named == file_kind ? file_named(written).empty() : is_path(written))
            throw InputError(file, place, fmt::format("\"{}\", which leads out of the job", written),
                             fmt::format("a {} that is in the job", named));
    });
}

std::string bytes_of(const Document& file, const std::string& job) {
    try {
        return from_base64(file.body);
    } catch (const std::invalid_argument& error) {
        throw InputError(job, "", fmt::format("the file \"{}\" with {}", file.reference, error.what()),
                         "a file's bytes in base64");
    }
}

} // namespace

JobStore::JobStore(const JobFile& job, std::shared_ptr<const DocumentStore> behind)
    : job_(job.path().string()), behind_(std::move(behind)) {
    for (Document& document : job.all<Document>()) {
        if (!is_plain_name(document.reference))
            throw InputError(job_, "", fmt::format("a {} named \"{}\"", document.kind, document.reference),
                             "a name without folders");
        std::string text = document.kind == file_kind ? bytes_of(document, job_) : std::move(document.body);
        texts_[{std::move(document.kind), std::move(document.reference)}] =
            std::make_shared<const std::string>(std::move(text));
    }
}

bool JobStore::has(const std::string& kind, const std::string& reference) const {
    return texts_.contains({kind, reference});
}

std::string JobStore::file_in_job(const std::string& kind, const std::string& reference) const {
    return fmt::format("{}/{}/{}", job_, folder_in_job(kind), reference);
}

std::string JobStore::place_of(PresetKind kind) const { return fmt::format("{}/{}", job_, folder_of(kind)); }

std::vector<std::string> JobStore::references(PresetKind kind) const {
    const std::string name(name_of(kind));
    std::vector<std::string> all;
    for (const auto& [key, text] : texts_)
        if (key.first == name) all.push_back(key.second);
    if (behind_)
        std::ranges::copy_if(behind_->references(kind), std::back_inserter(all),
                             [&](const std::string& reference) { return !has(name, reference); });
    return all;
}

std::string JobStore::file_of(PresetKind kind, const std::string& reference) const {
    const std::string name(name_of(kind));
    return behind_ && !has(name, reference) ? behind_->file_of(kind, reference)
                                            : file_in_job(name, reference);
}

json JobStore::document(PresetKind kind, const std::string& reference) const {
    const std::string name(name_of(kind));
    if (behind_ && !has(name, reference)) return behind_->document(kind, reference);
    const std::string file = file_in_job(name, reference);
    json body = parse_json(*texts_.at({name, reference}), file);
    hold_names_to_job(name, body, file);
    return body;
}

AttachedFile JobStore::file_in_job(const std::string& written) const {
    const std::string reference = file_named(written);
    const auto found = texts_.find({file_kind, reference});
    if (found == texts_.end()) return {file_in_job(file_kind, written), nullptr, false};
    return {file_in_job(file_kind, reference), found->second, true};
}

AttachedFile JobStore::attached(PresetKind kind, const std::string& reference,
                                const std::string& written) const {
    return behind_ && !has(std::string(name_of(kind)), reference)
               ? behind_->attached(kind, reference, written)
               : file_in_job(written);
}

void JobStore::hold(const Document& document) const {
    if (document.kind == file_kind) return;
    json body = json::parse(document.body);
    try {
        hold_to_form(document.kind, body, file_in_job(document.kind, document.reference),
                     [&](const std::string& written) { return file_in_job(written); });
    } catch (const InputError& error) {
        throw InputError("", error.place(), error.found(), error.allowed());
    }
    each_name_in(document.kind, body, [&](const std::string& kind, json& name, const std::string& place) {
        if (kind == file_kind) return; // read with the panel
        const auto reference = name.get<std::string>();
        if (is_path(reference) || !has(kind, without_size(kind, reference).file))
            throw InputError("", place, fmt::format("no {} \"{}\"", kind, reference),
                             "one that is in the job");
    });
}

Library job_library(const JobFile& job) { return Library(std::make_shared<const JobStore>(job)); }

Library job_library_before(const JobFile& job, const Library& shipped) {
    return Library(std::make_shared<const JobStore>(job, shipped.store()));
}

} // namespace sparecoat::vehicle
