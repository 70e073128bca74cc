#include "view/app/session.hpp"
#include "formats/reader.hpp"
#include "units/error.hpp"
#include "units/text.hpp"
#include <fmt/format.h>
#include <fstream>
#include <nlohmann/json.hpp>

namespace sparecoat::app {
namespace {

namespace fs = std::filesystem;

/// Tells gauge readings from a recorded path by what their headers have: film, or times. What is neither is
/// left to the reader of paths to refuse.
bool looks_like_readings(const fs::path& csv) {
    std::ifstream in(csv);
    std::string line;
    for (int read = 0; read < 50 && std::getline(in, line); ++read) {
        if (line.starts_with("\xef\xbb\xbf")) line.erase(0, 3); // a byte order mark
        if (line.empty() || line[0] == '#') continue;
        if (line.starts_with("panel,")) return true;
        for (const char* column : {"total_um", "total_mil", "clear_um", "clear_mil"})
            if (line.find(column) != std::string::npos) return true;
        if (line.find("t_s") != std::string::npos) return false;
    }
    return false;
}

/// What a JSON document says it is; empty where it does not, and for other files.
std::string kind_of(const fs::path& file) {
    if (lower_extension(file) != ".json") return "";
    const nlohmann::json document = load_json(file);
    return document.is_object() && document.contains("kind") && document["kind"].is_string()
               ? document["kind"].get<std::string>()
               : "";
}

} // namespace

Session::Session(Library library, const RunRequest& request, Settings remembered)
    : RunSession(std::move(library), request, std::move(remembered)) {
    pages_ = {&board, &compare, &charts, &lamp, &edge, &section, &risk, &lesson};
    if (!choose_defects(settings.defects)) choose_defects(Settings{}.defects);
    if (settings.section) section.open(true);
}

void Session::open(const fs::path& file) {
    attempt([&] {
        const std::string ending = lower_extension(file);
        if (compare.in_front() && kind_of(file) == "technique") return compare.model.add(file.string());
        if (board.in_front() && (ending == ".csv" || kind_of(file) == "record"))
            return notify(board.model.take_in(file));
        if (ending != ".sparecoat") show_run(), charts.close(); // what is opened is to be seen
        if (ending == ".csv") {
            Choices next = choices();
            const bool readings = looks_like_readings(file);
            if (readings) next.request.readings = load_gauge_csv(file);
            else next.request.path_csv = file;
            edit(next, readings ? "gauge readings" : "recorded path");
        } else if (ending == ".sparecoat") {
            board.open(file);
        } else if (ending == ".obj" || ending == ".stl") {
            choose_panel(file.string());
        } else if (ending == ".json") {
            const std::string kind = kind_of(file);
            if (kind == "lesson") lesson.open(file.string());
            else if (kind == "panel") choose_panel(file.string());
            else if (kind == "technique") load_technique(file.string());
            else if (kind == "defects") lamp.model.lit = choose_defects(file.string()) || lamp.model.lit;
            else if (kind == "record") section.load_record(file);
            else
                throw InputError(file.string(), "/kind",
                                 kind.empty() ? "no kind" : fmt::format("\"{}\"", kind),
                                 "\"panel\", \"technique\", \"defects\", \"record\" or \"lesson\"");
        } else {
            throw InputError(file.string(), "", "a file that ends in \"" + ending + "\"",
                             "a panel (.json, .obj, .stl), a technique or a record (.json), a recorded path "
                             "or gauge readings (.csv), a job (.sparecoat)");
        }
    });
}

} // namespace sparecoat::app
