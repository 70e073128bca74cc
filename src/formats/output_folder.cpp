#include "formats/output_folder.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <system_error>
#include <unistd.h>

namespace fs = std::filesystem;

namespace sparecoat::formats {
namespace {

constexpr const char* allowed_target = "a new folder, an empty one, or an earlier output of this program";

/// Absolute, without ".", ".." or links, so that renaming moves the folder and not a link to it.
fs::path settled(const fs::path& target) {
    std::error_code failed;
    fs::path path = fs::weakly_canonical(fs::absolute(target, failed), failed);
    if (failed) throw InputError(target.string(), "", failed.message(), allowed_target);
    if (!path.has_filename()) path = path.parent_path(); // "out/" means "out"
    if (target.empty() || !path.has_filename())
        throw InputError(target.string(), "", "no folder name", allowed_target);
    return path;
}

/// The document that tells an output of this program, and the kinds it may be of.
struct Mark {
    const char *file, *kind;
};
constexpr Mark marks[] = {{"summary.json", "sparecoat-run"},   {"summary.json", "sparecoat-compare"},
                          {"lesson.json", "sparecoat-lesson"}, {"advice.json", "sparecoat-advice"},
                          {"plan.json", "sparecoat-plan"},     {"risk.json", "sparecoat-risk"},
                          {"fit.json", "sparecoat-fit"},       {"evenness.json", "sparecoat-evenness"},
                          {"sweep.json", "sparecoat-sweep"},   {"compare.json", "sparecoat-comparison"}};

bool holds(const fs::path& folder, const Mark& mark) {
    std::ifstream file(folder / mark.file, std::ios::binary);
    if (!file) return false;
    const auto document = nlohmann::json::parse(file, nullptr, false);
    return document.is_object() && document.contains("kind") && document.at("kind") == mark.kind;
}

bool holds_earlier_output(const fs::path& folder) {
    return std::ranges::any_of(marks, [&](const Mark& mark) { return holds(folder, mark); });
}

bool is_at_or_above(const fs::path& folder, const fs::path& place) {
    const auto [in_folder, in_place] =
        std::mismatch(folder.begin(), folder.end(), place.begin(), place.end());
    return in_folder == folder.end();
}

void refuse_unless_replaceable(const fs::path& target) {
    std::error_code failed;
    const auto status = fs::status(target, failed);
    if (status.type() == fs::file_type::not_found) return;
    if (failed) throw InputError(target.string(), "", failed.message(), allowed_target);
    if (!fs::is_directory(status))
        throw InputError(target.string(), "", "a file of that name", allowed_target);
    if (is_at_or_above(target, fs::current_path()))
        throw InputError(target.string(), "", "the current folder or one above it", allowed_target);
    const bool empty = fs::is_empty(target, failed);
    if (failed) throw InputError(target.string(), "", failed.message(), allowed_target);
    if (!empty && !holds_earlier_output(target))
        throw InputError(target.string(), "", "a folder with other files in it", allowed_target);
}

/// A name beside the target that nothing has yet: ".name.partial-4711-0".
fs::path free_sibling(const fs::path& target, const std::string& purpose, int attempt) {
    return target.parent_path() /
           fmt::format(".{}.{}-{}-{}", target.filename().string(), purpose, ::getpid(), attempt);
}

constexpr int most_attempts = 1000;

fs::path make_work_folder(const fs::path& target) {
    std::error_code failed;
    for (int attempt = 0; attempt < most_attempts; ++attempt) {
        const fs::path work = free_sibling(target, "partial", attempt);
        if (fs::create_directory(work, failed)) return work; // false without an error: the name is taken
        if (failed) break;
    }
    throw InputError(target.string(), "", failed ? failed.message() : "too many unfinished outputs beside it",
                     "a place where a folder can be made");
}

/// @return the topmost folder that had to be made, empty where all were there.
fs::path make_parents(const fs::path& target) {
    fs::path topmost, above = target.parent_path();
    while (!above.empty() && !fs::exists(above)) {
        topmost = above;
        above = above.parent_path();
    }
    std::error_code failed;
    fs::create_directories(target.parent_path(), failed);
    if (failed) {
        if (!topmost.empty()) {
            std::error_code ignored;
            fs::remove_all(topmost, ignored);
        }
        throw InputError(target.string(), "", failed.message(), "a place where a folder can be made");
    }
    return topmost;
}

} // namespace

OutputFolder::OutputFolder(const fs::path& target) : target_(settled(target)) {
    refuse_unless_replaceable(target_);
    made_parent_ = make_parents(target_);
    try {
        work_ = make_work_folder(target_);
    } catch (...) {
        remove_made_parents();
        throw;
    }
}

OutputFolder::~OutputFolder() {
    if (committed_) return;
    std::error_code ignored; // a destructor has nobody to tell
    fs::remove_all(work_, ignored);
    remove_made_parents();
}

void OutputFolder::remove_made_parents() const {
    if (made_parent_.empty()) return;
    std::error_code ignored; // only empty folders go: someone else may have started using them
    for (fs::path folder = target_.parent_path(); is_at_or_above(made_parent_, folder);
         folder = folder.parent_path())
        fs::remove(folder, ignored);
}

void OutputFolder::commit() {
    if (committed_) throw std::logic_error("OutputFolder::commit called twice");
    refuse_unless_replaceable(target_);
    std::error_code failed;
    if (!fs::exists(target_)) {
        fs::rename(work_, target_, failed);
        if (failed) throw InputError(target_.string(), "", failed.message(), "a folder that can be written");
        committed_ = true;
        return;
    }

    fs::path aside;
    int attempt = 0;
    do aside = free_sibling(target_, "old", attempt++);
    while (fs::exists(aside) && attempt < most_attempts);
    fs::rename(target_, aside, failed);
    if (failed) throw InputError(target_.string(), "", failed.message(), "a folder that can be replaced");
    fs::rename(work_, target_, failed);
    if (failed) {
        std::error_code ignored;
        fs::rename(aside, target_, ignored);
        throw InputError(target_.string(), "", failed.message(), "a folder that can be replaced");
    }
    committed_ = true;
    fs::remove_all(aside, failed); // the new output is in place; a remnant of the old one is no error
}

} // namespace sparecoat::formats
