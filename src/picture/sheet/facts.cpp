#include "picture/sheet/facts.hpp"
#include "vehicle/job_plan.hpp"
#include "vehicle/job_store.hpp"
#include "vehicle/photos.hpp"
#include <algorithm>
#include <nlohmann/json.hpp>

namespace sparecoat::picture::sheet {
namespace {

/// Cells of a panel that is only drawn.
constexpr double drawing_cell_m = 4e-3;

/// Readings of one spot side by side, in the order they were entered; spots numbered by their first.
std::vector<SpotRead> in_rows(const std::vector<FilmReading>& readings) {
    std::vector<SpotRead> spots;
    int numbers = 0;
    for (const FilmReading& reading : readings) {
        const Point2 at{reading.x_m, reading.y_m};
        const auto here = [&](const SpotRead& spot) { return norm(spot.at - at) <= same_spot_m; };
        const auto fits = [&](const SpotRead& spot) {
            return here(spot) && spot.of_clear == reading.of_clear &&
                   !(reading.after_work ? spot.after : spot.before);
        };
        auto row = std::ranges::find_if(spots, fits);
        if (row == spots.end()) {
            const auto same = std::ranges::find_if(spots, here);
            const int number = same == spots.end() ? ++numbers : same->number;
            spots.push_back({number, at, reading.of_clear, {}, {}});
            row = spots.end() - 1;
        }
        (reading.after_work ? row->after : row->before) = reading;
    }
    std::ranges::stable_sort(spots, {}, &SpotRead::number);
    return spots;
}

class Gathering {
public:
    Gathering(const JobFile& job, const Visit& visit) : job_(job), presets_(job_library(job)) {
        out_.visit = visit;
        for (const Visit& one : job.all<Visit>()) { // by date
            if (!until_now_.empty() && until_now_.back().id == visit.id) {
                next_ = one;
                break;
            }
            until_now_.push_back(one);
        }
    }

    SheetFacts gather() {
        out_.vehicle = job_.vehicle();
        if (out_.vehicle.kit) out_.kit = named(*out_.vehicle.kit);
        out_.plan = kept_plan(job_, out_.visit);
        for (const JobPanel& panel : job_.all<JobPanel>()) out_.panels.push_back(panel_facts(panel));
        for (const Note& note : job_.all<Note>())
            if (!note.panel && ours(note.visit)) out_.notes.push_back(note.text);
        for (const Photo& photo : job_.all<Photo>())
            if (ours(photo.visit))
                out_.photos.push_back(photo.path + (photo.caption.empty() ? "" : ": " + photo.caption));
        return std::move(out_);
    }

private:
    bool ours(const std::optional<Id>& visit) const { return !visit || *visit == out_.visit.id; }

    /// What a document calls itself.
    std::string named(Id document) const {
        const Document row = job_.get<Document>(document);
        return nlohmann::json::parse(row.body).value("name", row.reference);
    }

    SheetPanel panel_facts(const JobPanel& panel) const {
        SheetPanel facts;
        facts.panel = panel;
        facts.shape = named(panel.shape), facts.paint = named(panel.paint);
        const std::string shape = job_.get<Document>(panel.shape).reference;
        facts.drawing =
            std::make_shared<const Panel>(build_panel(presets_.panel(shape), drawing_cell_m, shape));
        if (out_.plan) {
            const auto plan = std::ranges::find(out_.plan->plan.panels, panel.name, &PanelPlan::name);
            if (plan != out_.plan->plan.panels.end()) facts.plan = *plan;
        }
        for (const Note& note : job_.all<Note>())
            if (note.panel == panel.id && ours(note.visit)) facts.notes.push_back(note.text);
        for (const Visit& visit : until_now_) add_visit(facts, visit);
        facts.life = film_life(job_, panel, next_);
        facts.photos = pair_of(photos_of(panel), out_.visit.date);
        return facts;
    }

    /// Those of this visit, of earlier ones and of none. Where a file does not say when it was taken, the
    /// visit that it is on file with does.
    std::vector<TakenPhoto> photos_of(const JobPanel& panel) const {
        std::vector<TakenPhoto> photos;
        for (const Photo& row : job_.all<Photo>()) {
            if (row.panel != panel.id) continue;
            const auto visit =
                std::ranges::find_if(until_now_, [&](const Visit& one) { return row.visit == one.id; });
            if (row.visit && visit == until_now_.end()) continue;
            std::optional<std::string> bytes = bytes_as_they_were(job_, row);
            std::optional<TakenPhoto> photo = bytes ? read_photo(std::move(*bytes)) : std::nullopt;
            if (!photo) continue;
            photo->caption = row.caption;
            if (photo->taken.empty() && row.visit) photo->taken = visit->date;
            photos.push_back(std::move(*photo));
        }
        return photos;
    }

    void add_visit(SheetPanel& facts, const Visit& visit) const {
        const auto at = job_.panel_visit(visit.id, facts.panel.id);
        if (!at) return;
        std::vector<FilmReading> readings;
        std::ranges::copy_if(job_.all<FilmReading>(), std::back_inserter(readings),
                             [&](const FilmReading& reading) { return reading.panel_visit == at->id; });
        std::optional<Work> work;
        for (const Work& row : job_.all<Work>())
            if (row.panel_visit == at->id) work = row;
        const SpentFilm spent = spent_by(work, readings);
        if (work || spent.best) facts.history.push_back({visit, work ? work->done : "", spent});
        if (visit.id != out_.visit.id) return;
        facts.looked_at = true, facts.clean = at->clean, facts.note = at->note;
        if (at->defects) facts.defects = presets_.defects(job_.get<Document>(*at->defects).reference);
        facts.work = work, facts.spent = spent;
        facts.spots = in_rows(readings), facts.readings = std::move(readings);
        for (const SquareRow& square : job_.all<SquareRow>()) {
            if (square.panel_visit != at->id) continue;
            facts.squares.push_back({square, {}});
            for (const TryRow& row : job_.all<TryRow>())
                if (row.square == square.id) facts.squares.back().tries.push_back(row);
        }
    }

    const JobFile& job_;
    Library presets_;
    SheetFacts out_;
    std::vector<Visit> until_now_;
    std::optional<Visit> next_;
};

} // namespace

SheetFacts gather(const JobFile& job, const Visit& visit) {
    SheetFacts facts;
    job.at_one_moment([&] { facts = Gathering(job, visit).gather(); });
    return facts;
}

} // namespace sparecoat::picture::sheet
