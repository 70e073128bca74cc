// Readings of a gauge, spot by spot.
#include "formats/csv.hpp"
#include "formats/gauge_csv.hpp"
#include "formats/reading_paste.hpp"
#include "panel/reading_flags.hpp"
#include "run/run_job.hpp"
#include "units/quantity.hpp"
#include "vehicle/job_store.hpp"
#include "view/pages/board/board_words.hpp"
#include "view/pages/board/job_model.hpp"
#include "view/run/background_task.hpp"
#include <algorithm>
#include <cmath>
#include <fmt/format.h>

namespace sparecoat::view::board {

namespace fs = std::filesystem;

// ---- readings -------------------------------------------------------------------------------------

void JobModel::begin_readings() {
    constexpr double coarse_m = 0.004; // the outline is exact on any grid
    const BoardPanel& shown = chosen();
    visit();
    const bool same = entry && entry->panel == shown.panel.id && entry->pattern.rows == pattern_rows &&
                      entry->pattern.columns == pattern_columns;
    if (!same) {
        const Library presets = job_library(*job_);
        RunRequest request;
        request.panel = shown.shape, request.paint = shown.paint, request.grid_m = coarse_m;
        LaidPanel laid = lay_panel(presets, request);
        laid.panel.name = shown.panel.name;
        ReadingEntry fresh;
        fresh.panel = shown.panel.id;
        fresh.pattern = reading_spots(laid.panel, pattern_rows, pattern_columns);
        fresh.shape = std::make_shared<const Panel>(std::move(laid.panel));
        fresh.paint = laid.paint;
        if (entry) fresh.of_clear = entry->of_clear, fresh.after_work = entry->after_work;
        else fresh.after_work = shown.work.has_value();
        entry = std::move(fresh);
    }
    remarks_.reset();
    page = BoardPart::readings;
    // To the first spot that has nothing yet.
    entry->turn = 0, entry->text.clear(), entry->fault.clear();
    while (!entry->at_end() && reading_at(entry->spot())) ++entry->turn;
    if (entry->at_end()) entry->turn = 0;
}

void JobModel::type(unsigned code_point) {
    constexpr std::size_t longest = 8;
    if (!entry || entry->text.size() >= longest) return;
    const auto c = static_cast<char>(code_point < 128 ? code_point : 0);
    const bool digit = c >= '0' && c <= '9',
               point = (c == '.' || c == ',') && entry->text.find_first_of(".,") == std::string::npos;
    if (!digit && !point) return;
    if (entry->at_end()) go_to_spot(0);
    entry->text += c;
    entry->fault.clear();
}

void JobModel::rub_out() {
    if (!entry) return;
    if (!entry->text.empty()) entry->text.pop_back();
    else if (entry->turn > 0) --entry->turn;
    entry->fault.clear();
}

bool JobModel::take_reading(FilmUnit unit) {
    if (!entry) return false;
    if (entry->text.empty()) {
        if (!entry->at_end()) ++entry->turn;
        return true;
    }
    std::string text = entry->text;
    std::ranges::replace(text, ',', '.');
    const bool mil = unit == FilmUnit::mil;
    double value = 0;
    if (!finite_number(text, value)) {
        entry->fault = fmt::format("found \"{}\"; allowed: a number, such as 112 or 112,5", entry->text);
        return false;
    }
    if (const auto fault = film_fault(value, mil, entry->of_clear)) {
        entry->fault = fmt::format("found {}; allowed: {}", fault->found, fault->allowed);
        return false;
    }
    GaugeReading reading;
    reading.at = entry->pattern.spots[entry->spot()];
    reading.of_clear = entry->of_clear, reading.film_um = mil ? value * um_per_mil : value;
    reading.n = gauge_n, reading.repeat_sd_um = gauge_sd_um;
    put_readings({reading}, fmt::format("a reading on the {} {} work", chosen().panel.name,
                                        entry->after_work ? "after" : "before"));
    entry->text.clear(), entry->fault.clear();
    ++entry->turn;
    return true;
}

void JobModel::move_spot(int right, int up) {
    if (!entry) return;
    const auto across = static_cast<std::ptrdiff_t>(entry->pattern.columns);
    const auto spot = static_cast<std::ptrdiff_t>(entry->spot());
    const std::ptrdiff_t column = std::clamp<std::ptrdiff_t>(spot % across + right, 0, across - 1);
    const std::ptrdiff_t line = std::clamp<std::ptrdiff_t>(spot / across - up, 0, entry->pattern.rows - 1);
    go_to_spot(static_cast<std::size_t>(line * across + column));
}

void JobModel::go_to_spot(std::size_t spot) {
    if (!entry || spot >= entry->spots()) return;
    entry->turn = entry->pattern.turn_of(spot);
    entry->text.clear(), entry->fault.clear();
}

void JobModel::remove_reading() {
    if (!entry || entry->at_end()) return;
    entry->text.clear(), entry->fault.clear();
    const FilmReading* there = reading_at(entry->spot());
    if (!there) return;
    const Id id = there->id;
    edit(fmt::format("a reading taken off the {}", chosen().panel.name),
         [&] { job_->remove<FilmReading>(id); });
}

std::string JobModel::paste(const std::string& text, FilmUnit unit) {
    if (!entry) return {};
    const PasteTerms terms{*entry->shape,   entry->pattern, chosen().shape, unit == FilmUnit::mil,
                           entry->of_clear, gauge_n,        gauge_sd_um};
    std::string told;
    const std::vector<GaugeReading> readings = read_pasted(text, terms, &told);
    put_readings(readings, fmt::format("{} {} pasted on the {} {} work", readings.size(),
                                       readings.size() == 1 ? "reading" : "readings", chosen().panel.name,
                                       entry->after_work ? "after" : "before"));
    entry->text.clear(), entry->fault.clear();
    entry->turn = entry->spots();
    return told;
}

void JobModel::switch_kind(bool of_clear) {
    if (!entry) return;
    entry->of_clear = of_clear, entry->turn = 0, entry->text.clear(), entry->fault.clear();
    remarks_.reset();
}

void JobModel::switch_time(bool after_work) {
    if (!entry) return;
    entry->after_work = after_work, entry->turn = 0, entry->text.clear(), entry->fault.clear();
    remarks_.reset();
}

std::vector<const FilmReading*> JobModel::readings_shown() const {
    std::vector<const FilmReading*> shown;
    if (!entry || !panel()) return shown;
    for (const FilmReading& row_of_file : panel()->readings)
        if (row_of_file.after_work == entry->after_work && row_of_file.of_clear == entry->of_clear)
            shown.push_back(&row_of_file);
    return shown;
}

const FilmReading* JobModel::reading_at(std::size_t spot) const {
    if (!entry || spot >= entry->spots()) return nullptr;
    const Point2 at = entry->pattern.spots[spot];
    for (const FilmReading* reading : readings_shown())
        if (std::hypot(reading->x_m - at.x, reading->y_m - at.y) < one_spot_m) return reading;
    return nullptr;
}

bool JobModel::Remarks::is_suspicious(const FilmReading* reading,
                                      const std::vector<const FilmReading*>& shown) const {
    const auto found = static_cast<std::size_t>(std::ranges::find(shown, reading) - shown.begin());
    return found < suspicious.size() && suspicious[found];
}

const JobModel::Remarks& JobModel::remarks() const {
    if (remarks_) return *remarks_;
    remarks_.emplace();
    const std::vector<const FilmReading*> shown = readings_shown();
    remarks_->suspicious.resize(shown.size());
    if (shown.empty()) return *remarks_;
    std::vector<GaugeReading> readings;
    for (const FilmReading* reading : shown) {
        readings.push_back(reading->gauge());
        readings.back().line = static_cast<int>(readings.size());
    }
    remarks_->flags = flags_of_readings(*entry->shape, entry->paint, readings);
    for (const FilmFlag& flag : remarks_->flags)
        if (flag.kind == FilmFlagKind::repaint || flag.kind == FilmFlagKind::thin_paint)
            for (const int line : flag.lines) remarks_->suspicious[static_cast<std::size_t>(line - 1)] = true;
    return *remarks_;
}

} // namespace sparecoat::view::board
