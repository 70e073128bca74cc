#include "vehicle/documents.hpp"
#include "formats/encoding.hpp"
#include "formats/reader.hpp"
#include "formats/reference.hpp"
#include "units/text.hpp"
#include <array>
#include <fmt/format.h>
#include <fstream>
#include <functional>
#include <nlohmann/json.hpp>
#include <optional>
#include <sstream>
#include <unistd.h>

namespace sparecoat::vehicle {

namespace fs = std::filesystem;
using nlohmann::json;

namespace {

constexpr const char* file_kind = "file";

std::string folder_in_job(const std::string& kind) {
    return kind == file_kind ? "files" : std::string(folder_of(preset_kind(kind)));
}

// ---- references -----------------------------------------------------------------------------------

/// A pad's reference is its file's and its size: "firm-foam" and "-150", "own/firm.json" and "#150".
struct Sized {
    std::string file, size;
};

Sized take_apart(const std::string& kind, const std::string& reference) {
    if (kind != "pad") return {reference, ""};
    const auto mark = reference.rfind(is_path(reference) ? '#' : '-');
    if (mark == std::string::npos) return {reference, ""};
    return {reference.substr(0, mark), reference.substr(mark + 1)};
}

/// A name within the job: no folder, and nothing that hides a file.
std::string plain_name(const std::string& name) {
    std::string plain;
    for (const char c : name) plain += c == '/' || c == '\\' ? '-' : c;
    return plain.empty() || plain.front() == '.' ? "own" + plain : plain;
}

// ---- holding to forms -----------------------------------------------------------------------------

/// @throws InputError with the place in the document.
void hold_document(const std::string& kind, const json& body, const std::string& file) {
    using Read = void (*)(const json&, const std::string&);
    static const std::map<std::string, Read> readers = {
        {"machine", [](const json& b, const std::string& f) { read_machine(b, f); }},
        {"pad", [](const json& b, const std::string& f) { read_pads(b, f); }},
        {"liquid", [](const json& b, const std::string& f) { read_liquid(b, f); }},
        {"paint", [](const json& b, const std::string& f) { read_paint(b, f); }},
        {"substrate", [](const json& b, const std::string& f) { read_substrate(b, f); }},
        {"panel", [](const json& b, const std::string& f) { read_panel(b, f); }},
        {"technique", [](const json& b, const std::string& f) { read_technique(b, f); }},
        {"defects", [](const json& b, const std::string& f) { read_defects(b, f); }},
        {"kit", [](const json& b, const std::string& f) { read_kit(b, f); }},
    };
    const auto read = readers.find(kind);
    if (read == readers.end()) throw InputError(file, "", fmt::format("a {}", kind), "what a job is made of");
    read->second(body, file);
}

/// Calls `see` with every name of another preset or of a file in a document, that one's kind and its place.
void each_name_in(const std::string& kind, json& body,
                  const std::function<void(const char* kind, json& name, const std::string& place)>& see) {
    const auto all_in = [&](const char* named, json& list, const std::string& place) {
        for (std::size_t k = 0; k < list.size(); ++k) see(named, list[k], fmt::format("{}/{}", place, k));
    };
    if (kind == "panel") {
        see("substrate", body["substrate"], "/substrate");
        for (const char* source : {"height_map", "mesh"})
            if (body.contains(source)) see(file_kind, body[source]["file"], fmt::format("/{}/file", source));
    } else if (kind == "technique") {
        for (const char* tool : {"machine", "pad", "liquid"}) see(tool, body[tool], fmt::format("/{}", tool));
    } else if (kind == "kit") {
        json& machines = body["machines"];
        for (std::size_t k = 0; k < machines.size(); ++k) {
            const std::string place = fmt::format("/machines/{}", k);
            see("machine", machines[k]["machine"], place + "/machine");
            if (machines[k].contains("pads")) all_in("pad", machines[k]["pads"], place + "/pads");
        }
        all_in("pad", body["pads"], "/pads");
        all_in("liquid", body["liquids"], "/liquids");
    }
}

// ---- bringing in ----------------------------------------------------------------------------------

std::optional<Document> find_document(const JobFile& job, const std::string& kind,
                                      const std::string& reference) {
    for (Document& document : job.all<Document>())
        if (document.kind == kind && document.reference == reference) return std::move(document);
    return std::nullopt;
}

class Porter {
public:
    Porter(JobFile& job, const Library& library) : job_(job), library_(library) {}

    BroughtIn bring(const std::string& kind, const std::string& reference) {
        const Sized sized = take_apart(kind, reference);
        const std::string extension = lower_extension(sized.file);
        BroughtIn in;
        json body;
        if (kind == "panel" && (extension == ".obj" || extension == ".stl")) {
            library_.panel(reference); // refuses what is not there
            body = {{"kind", "panel"},
                    {"name", fs::path(reference).stem().string()},
                    {"substrate", "steel"},
                    {"mesh", {{"file", fs::absolute(reference).string()}}}};
            in = take(kind, fs::path(reference).stem().string(), std::move(body), reference);
        } else {
            const fs::path file = library_.file_of(preset_kind(kind), reference);
            body = load_json(file);
            hold_document(kind, body, file.string());
            in = take(kind, file.stem().string(), std::move(body), file.string());
        }
        if (!sized.size.empty()) in.reference += "-" + sized.size;
        return in;
    }

private:
    BroughtIn take(const std::string& kind, const std::string& name, json body, const std::string& file) {
        BroughtIn in;
        body.erase("$schema"); // a path that would lead nowhere
        each_name_in(kind, body, [&](const char* named_kind, json& name_in_body, const std::string&) {
            const auto written = name_in_body.get<std::string>();
            const std::string found = is_path(written) || std::string_view(named_kind) == file_kind
                                          ? (fs::path(file).parent_path() / written).string()
                                          : written;
            const std::string now = named_kind == std::string_view(file_kind)
                                        ? bring_file(found)
                                        : bring(named_kind, found).reference;
            if (now != written) in.renamed[written] = now;
            name_in_body = now;
        });
        const Document row = keep(document_row(kind, plain_name(name), body));
        in.document = row.id, in.reference = row.reference;
        return in;
    }

    /// @return the path from a panel's folder in the job's library
    std::string bring_file(const fs::path& file) {
        constexpr std::uintmax_t largest = 16U << 20U;
        std::error_code failed;
        if (!fs::is_regular_file(file, failed))
            throw InputError(file.string(), "", "no such file", "a mesh or a height map");
        if (const auto size = fs::file_size(file, failed); failed || size > largest)
            throw InputError(file.string(), "", "a file too large to be kept in a job",
                             fmt::format("up to {} bytes", largest));
        std::ifstream in(file, std::ios::binary);
        std::ostringstream bytes;
        bytes << in.rdbuf();
        Document row;
        row.kind = file_kind, row.reference = plain_name(file.filename().string());
        row.body = to_base64(bytes.str());
        row.hash = sha256(row.body);
        return "../files/" + keep(row).reference;
    }

    /// The row as it is in the job: there already, or added under a name that is free.
    Document keep(Document row) {
        const fs::path name = row.reference;
        const bool is_file = row.kind == file_kind;
        for (int number = 2;; ++number) {
            const auto there = find_document(job_, row.kind, row.reference);
            if (there && there->hash == row.hash) return *there;
            if (!there) {
                row.id = job_.add(row);
                return row;
            }
            row.reference =
                is_file ? fmt::format("{}-{}{}", name.stem().string(), number, name.extension().string())
                        : fmt::format("{}-{}", name.string(), number);
        }
    }

    JobFile& job_;
    const Library& library_;
};

fs::path fresh_folder() {
    static int count = 0;
    std::string name =
        (fs::temp_directory_path() / fmt::format("sparecoat-job-{}-{}-XXXXXX", ::getpid(), count++)).string();
    if (::mkdtemp(name.data()) == nullptr)
        throw InputError(name, "", "a folder that cannot be made",
                         "a folder for temporary files that can be written");
    return name;
}

} // namespace

BroughtIn bring_in(JobFile& job, const Library& library, const std::string& kind,
                   const std::string& reference) {
    return Porter(job, library).bring(kind, reference);
}

Document document_row(const std::string& kind, const std::string& reference, const json& body) {
    Document row;
    row.kind = kind, row.reference = reference;
    row.body = body.dump(-1, ' ', false, json::error_handler_t::replace);
    row.hash = sha256(row.body);
    return row;
}

JobLibrary::JobLibrary(const JobFile& job) : folder_(fresh_folder()), library_(folder_) {
    fs::create_directory(folder_ / folder_in_job(file_kind));
    for (const PresetKind kind : all_preset_kinds()) fs::create_directory(folder_ / folder_of(kind));
    for (const Document& document : job.all<Document>()) {
        const bool is_file = document.kind == file_kind;
        const fs::path file =
            folder_ / folder_in_job(document.kind) / (document.reference + (is_file ? "" : ".json"));
        std::ofstream(file, std::ios::binary) << (is_file ? from_base64(document.body) : document.body);
    }
}

void JobLibrary::hold(const Document& document) const {
    if (document.kind == file_kind) return;
    const std::string file =
        (folder_ / folder_in_job(document.kind) / (document.reference + ".json")).string();
    json body = json::parse(document.body);
    try {
        hold_document(document.kind, body, file);
    } catch (const InputError& error) {
        throw InputError("", error.place(), error.found(), error.allowed());
    }
    each_name_in(document.kind, body, [&](const char* kind, json& name, const std::string& place) {
        if (std::string_view(kind) == file_kind) return; // read with the panel
        const std::string reference = name.get<std::string>();
        const std::string named = take_apart(kind, reference).file;
        if (is_path(reference) || !fs::exists(folder_ / folder_in_job(kind) / (named + ".json")))
            throw InputError("", place, fmt::format("no {} \"{}\"", kind, reference),
                             "one that is in the job");
    });
}

JobLibrary::~JobLibrary() {
    std::error_code ignored;
    fs::remove_all(folder_, ignored);
}

} // namespace sparecoat::vehicle
