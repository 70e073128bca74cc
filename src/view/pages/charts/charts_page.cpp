#include "view/pages/charts/charts_page.hpp"

namespace sparecoat::view::charts {

void ChartsPage::open(ChartMaker maker) {
    model.open(std::move(maker));
    session_.bring_to_front(*this);
}

void ChartsPage::open_evenness() {
    session_.unless_lost([this] {
        if (session_.preparing()) return session_.notify("The technique is being made ready");
        session_.live.pause();
        open(evenness_charts(session_.edits.library(), session_.edits.job()));
    });
}

void ChartsPage::save(const std::filesystem::path& file) {
    if (session_.attempt([&] { model.save(file); })) session_.notify("Chart written: " + file.string());
}

bool ChartsPage::act(Action action) {
    if (action == Action::charts) {
        if (session_.in_lesson) session_.notify("Leave the lesson first");
        else if (in_front()) close();
        else open_evenness();
        return true;
    }
    if (action < Action::chart_before || action > Action::charts_again) return false;
    if (!in_front()) return true;
    switch (action) {
    case Action::chart_before: model.move(-1); break;
    case Action::chart_after: model.move(1); break;
    case Action::charts_again: model.again(); break;
    default:
        if (model.chart()) session_.chooser = Chooser::save_chart;
    }
    return true;
}

bool ChartsPage::close() {
    model.close();
    session_.put_away(*this);
    return true;
}

void ChartsPage::tick(double) {
    session_.attempt([&] { model.tick(); });
}

bool ChartsPage::take_file(Chooser what, const std::filesystem::path& file) {
    if (what != Chooser::save_chart) return false;
    save(file);
    return true;
}

std::string ChartsPage::file_name(Chooser what) const {
    return what == Chooser::save_chart && model.chart() ? model.chart()->file + ".png" : "";
}

} // namespace sparecoat::view::charts
