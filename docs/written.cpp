#include "written.hpp"
#include "formats/form.hpp"
#include "formats/kinds.hpp"
#include "library/lesson_caption.hpp"
#include "vehicle/job_json.hpp"
#include <fmt/format.h>
#include <stdexcept>

namespace sparecoat::docs {
using namespace cli;

std::vector<WrittenFile> schemas() {
    std::vector<WrittenFile> all;
    for (const PresetKind kind : all_preset_kinds())
        all.push_back({fmt::format("docs/schema/{}.schema.json", name_of(kind)), schema_text(kind)});
    all.push_back({"docs/schema/job.schema.json", job_schema_text()});
    return all;
}

std::vector<WrittenTable> tables() {
    const std::string formats = "docs/formats.md";
    std::vector<WrittenTable> all{{formats, "units", markdown_of_units()}};
    for (const PresetKind kind : all_preset_kinds())
        all.push_back({formats, std::string(name_of(kind)), format_table(kind)});
    all.push_back({formats, "figures", markdown_of_figures()});
    all.push_back({"docs/job-file.md", "job", job_format_table()});
    return all;
}

std::string with_table(const std::string& page_text, const WrittenTable& table) {
    const std::string begin = fmt::format("<!-- {} -->\n", table.name), end = "<!-- end -->";
    const std::size_t mark = page_text.find(begin);
    if (mark == std::string::npos) throw std::runtime_error(table.page + " has no " + begin);
    const std::size_t from = mark + begin.size(), to = page_text.find(end, from);
    if (to == std::string::npos) throw std::runtime_error(table.page + " has no " + end + " after " + begin);
    return page_text.substr(0, from) + table.text + page_text.substr(to);
}

} // namespace sparecoat::docs
