#include "vehicle/documents.hpp"
#include "formats/encoding.hpp"
#include "formats/reader.hpp"
#include "formats/reference.hpp"
#include "units/text.hpp"
#include "vehicle/document_names.hpp"
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <optional>

namespace sparecoat::vehicle {

namespace fs = std::filesystem;
using nlohmann::json;

namespace {

/// A preset's name within the job.
std::string plain_name(const std::string& name) {
    std::string plain;
    for (const char c : name) plain += c == '/' || c == '\\' ? '-' : c;
    return plain.empty() || plain.front() == '.' ? "own" + plain : plain;
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
        const SizedReference sized = without_size(kind, reference);
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
            StoredDocument found = library_.document(preset_kind(kind), reference);
            hold_to_form(kind, found.body, found.file,
                         [&](const std::string& written) { return attached_to_file(found.file, written); });
            in = take(kind, fs::path(found.file).stem().string(), std::move(found.body), found.file);
        }
        if (!sized.size.empty()) in.reference += "-" + sized.size;
        return in;
    }

private:
    BroughtIn take(const std::string& kind, const std::string& name, json body, const std::string& file) {
        BroughtIn in;
        body.erase("$schema"); // a path that would lead nowhere
        each_name_in(kind, body, [&](const std::string& named_kind, json& name_in_body, const std::string&) {
            const auto written = name_in_body.get<std::string>();
            const bool is_file = named_kind == file_kind;
            const std::string found = is_path(written) || is_file ? beside(file, written).string() : written;
            const std::string now = is_file ? bring_file(found) : bring(named_kind, found).reference;
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
        const FileBytes bytes = bytes_of_file(file);
        if (!bytes)
            throw InputError(file.string(), "", "a file that cannot be read", "a mesh or a height map");
        Document row;
        row.kind = file_kind, row.reference = plain_name(file.filename().string());
        row.body = to_base64(*bytes);
        row.hash = sha256(row.body);
        return name_of_file(keep(row).reference);
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

} // namespace sparecoat::vehicle
