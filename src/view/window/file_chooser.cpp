#include "units/text.hpp"
#include "view/window/cards.hpp"
#include <algorithm>
#include <array>
#include <cctype>
#include <imgui.h>
#include <imgui_stdlib.h>

namespace sparecoat::view {
namespace {

namespace fs = std::filesystem;

bool is_readable_kind(const fs::path& file) {
    constexpr std::array endings{".json", ".obj", ".stl", ".csv", ".sparecoat"};
    return std::find(endings.begin(), endings.end(), lower_extension(file)) != endings.end();
}

/// What is asked for a file that is opened or written.
struct Naming {
    const char *heading, *hint, *name;
    std::vector<std::string> endings; ///< that a name may have; the first is added to one without
};

const Naming& naming_of(Chooser chooser) {
    static const Naming open{"Open a panel, a technique, an arm path, readings, a record or a job",
                             "Choose above, type a name or path, or drop a file on the window",
                             "",
                             {}};
    static const Naming path{
        "Save the arm path", "Name of the CSV file, or a whole path", "arm-path.csv", {".csv"}};
    static const Naming record{"Keep the record of test sections",
                               "Name of the record's file, or a whole path",
                               "test-sections.json",
                               {".json"}};
    static const Naming sheet{"The visit on paper: .pdf, .html or .csv",
                              "Name of the sheet, or a whole path",
                              "job-sheet.pdf",
                              {".pdf", ".html", ".csv"}};
    static const Naming report{"The comparison as report, table and pictures, in a folder of their own",
                               "Name of the folder, or a whole path",
                               "comparison",
                               {}};
    static const Naming chart{"The chart: .png, .svg or .pdf",
                              "Name of the picture, or a whole path",
                              "chart.png",
                              {".png", ".svg", ".pdf"}};
    switch (chooser) {
    case Chooser::save: return path;
    case Chooser::save_record: return record;
    case Chooser::save_sheet: return sheet;
    case Chooser::save_report: return report;
    case Chooser::save_chart: return chart;
    default: return open;
    }
}

} // namespace

void FileChooser::enter(const fs::path& folder) {
    std::error_code error;
    const fs::path wanted = fs::weakly_canonical(folder, error);
    std::vector<Entry> found;
    fs::directory_iterator it(wanted, fs::directory_options::skip_permission_denied, error);
    if (error) {
        fault_ = wanted.string() + ": found a folder that cannot be read";
        return;
    }
    for (const fs::directory_entry& entry : it) {
        const std::string name = entry.path().filename().string();
        std::error_code ignored;
        const bool is_folder = entry.is_directory(ignored);
        if (name.starts_with('.') || (!is_folder && !is_readable_kind(entry.path()))) continue;
        found.push_back({name, is_folder});
    }
    std::sort(found.begin(), found.end(), [](const Entry& a, const Entry& b) {
        return a.folder != b.folder ? a.folder : a.name < b.name;
    });
    folder_ = wanted;
    entries_ = std::move(found);
    fault_.clear();
}

void FileChooser::choose(RunSession& session, const fs::path& typed) {
    const fs::path file = typed.is_absolute() ? typed : folder_ / typed;
    std::error_code error;
    const bool report = shown_ == Chooser::save_report;
    if (fs::is_directory(file, error) &&
        !(report && fs::exists(file / "compare.json", error))) { // an earlier report is replaced
        name_.clear();
        return enter(file);
    }
    if (shown_ == Chooser::open || report) {
        session.chooser = Chooser::none;
        return session.take_file(shown_, file);
    }
    const Naming& naming = naming_of(shown_);
    fs::path named = file;
    const std::string ending = lower_extension(named);
    if (std::ranges::find(naming.endings, ending) == naming.endings.end()) named += naming.endings.front();
    if (fs::exists(named, error) && !asked_to_replace_) {
        asked_to_replace_ = true;
        fault_ = named.filename().string() + " is there already: once more replaces it";
        return;
    }
    session.chooser = Chooser::none;
    session.take_file(shown_, named);
}

void FileChooser::draw(const Ui& ui, float width, float height) {
    RunSession& session = ui.session;
    const bool opened = session.chooser != shown_;
    shown_ = session.chooser;
    if (shown_ == Chooser::none) return;
    const Naming& naming = naming_of(shown_);
    const bool saving = shown_ != Chooser::open;
    if (opened) {
        asked_to_replace_ = false;
        enter(folder_.empty() ? fs::current_path() : folder_);
        name_ = naming.name;
        for (const Page* page : session.pages())
            if (const std::string own = page->file_name(shown_); !own.empty()) name_ = own;
    }
    const float w = std::min(ui.px(760), width - ui.px(40)), h = std::min(ui.px(520), height - ui.px(40));
    const Box box{(width - w) / 2, (height - h) / 2, w, h};
    begin_dialog(ui, "files", box, width, height);
    ImGui::PushFont(ui.f.bold);
    ImGui::TextUnformatted(naming.heading);
    ImGui::PopFont();
    ImGui::PushFont(ui.f.small);
    ImGui::TextDisabled("%s", fitted(ui.f.small, folder_.string(), w - ui.px(60)).c_str());
    ImGui::PopFont();

    fs::path go;
    ImGui::BeginChild("entries", {0, h - ui.px(190)}, false);
    if (ImGui::Selectable("\u2191  one folder up") && folder_.has_parent_path()) go = folder_.parent_path();
    for (const Entry& entry : entries_) {
        const std::string words = entry.folder ? entry.name + "/" : entry.name;
        if (!ImGui::Selectable(words.c_str(), entry.name == name_, ImGuiSelectableFlags_AllowDoubleClick))
            continue;
        if (entry.folder || (!saving && ImGui::IsMouseDoubleClicked(0))) go = folder_ / entry.name;
        else name_ = entry.name, asked_to_replace_ = false;
    }
    ImGui::EndChild();

    if (!fault_.empty()) ImGui::TextColored(ImGui::ColorConvertU32ToFloat4(ui.c.warn), "%s", fault_.c_str());
    else ImGui::TextDisabled("%s", naming.hint);
    ImGui::SetNextItemWidth(-1);
    if (opened) ImGui::SetKeyboardFocusHere();
    const bool entered = ImGui::InputText("##name", &name_, ImGuiInputTextFlags_EnterReturnsTrue);
    const float by = box.y + h - ui.px(48), bw = ui.px(120);
    if (press(ui, "cancel", "Cancel", {box.x + w - ui.px(22) - 2 * bw - ui.px(8), by, bw, ui.px(32)}))
        session.chooser = Chooser::none;
    const bool pressed =
        press(ui, "take", saving ? "Save" : "Open", {box.x + w - ui.px(22) - bw, by, bw, ui.px(32)}, true);
    end_dialog();
    if (!go.empty()) choose(session, go);
    else if ((entered || pressed) && !name_.empty()) choose(session, name_);
}

} // namespace sparecoat::view
