#pragma once
#include "finish/described.hpp"
#include "panel/panel.hpp"
#include "picture/sheet/photo_pair.hpp"
#include "plan/plan_reading.hpp"
#include "vehicle/film_life.hpp"
#include "vehicle/film_spent.hpp"
#include "vehicle/job_file.hpp"
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::picture::sheet {

/// A taped square with what was done on it.
struct TriedSquare {
    SquareRow square;
    std::vector<TryRow> tries;
};

/// What became of a panel at an earlier visit, or at this one.
struct PastVisit {
    Visit visit;
    std::string done;
    SpentFilm spent;
};

/// Gauge readings of one spot and kind, before and after.
struct SpotRead {
    int number = 0; ///< of the spot; total and clear of one spot share it
    Point2 at;
    bool of_clear = false;
    std::optional<FilmReading> before, after;
};

struct SheetPanel {
    JobPanel panel;
    std::string shape, paint;              ///< names, not references
    bool clean = false, looked_at = false; ///< looked at: there is an entry at this visit
    std::string note;
    std::optional<Defects> defects;       ///< that it was found with
    std::shared_ptr<const Panel> drawing; ///< outline and lines; no film
    std::vector<FilmReading> readings;    ///< of this visit
    std::vector<SpotRead> spots;          ///< the same in rows
    std::vector<TriedSquare> squares;
    std::optional<PanelPlan> plan;
    std::optional<Work> work;
    SpentFilm spent;                ///< at this visit
    std::vector<PastVisit> history; ///< visits up to and with this one at which something was done or lost
    FilmLife life;                  ///< up to and with this visit
    std::vector<std::string> notes; ///< of this visit and of none
    PhotoPair photos;               ///< from before this visit's work and after it
};

/// All that a sheet tells, read once.
struct SheetFacts {
    Vehicle vehicle;
    Visit visit;
    std::string kit; ///< its name; empty without one
    std::optional<KeptPlan> plan;
    std::vector<SheetPanel> panels;
    std::vector<std::string> notes;  ///< on no panel
    std::vector<std::string> photos; ///< path and caption, of this visit and of none
};

/// @throws InputError, as write_sheet.
SheetFacts gather(const JobFile& job, const Visit& visit);

} // namespace sparecoat::picture::sheet
