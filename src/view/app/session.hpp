#pragma once
#include "view/pages/board/board_page.hpp"
#include "view/pages/charts/charts_page.hpp"
#include "view/pages/compare/compare_page.hpp"
#include "view/pages/edge/edge_page.hpp"
#include "view/pages/lamp/lamp_page.hpp"
#include "view/pages/lesson/lesson_page.hpp"
#include "view/pages/risk/risk_page.hpp"
#include "view/pages/section/section_page.hpp"
#include "view/window/run_session.hpp"
#include <filesystem>

namespace sparecoat::app {

/// Everything the window shows and everything a key or a control does, without a window: the run, and the
/// pages. Tests drive it headless.
class Session : public RunSession {
public:
    /// @throws InputError where the request cannot be prepared.
    Session(Library library, const RunRequest& request, Settings settings);

    /// Panel JSON, OBJ or STL; technique, defects, record or lesson JSON; path or readings CSV; a job: told
    /// apart by ending and "kind".
    void open(const std::filesystem::path& file) override;

    board::BoardPage board{*this};
    compare::ComparePage compare{*this};
    charts::ChartsPage charts{*this};
    lamp::LampPage lamp{*this};
    edge::EdgePage edge{*this};
    section::SectionPage section{*this};
    risk::RiskPage risk{*this};
    lesson::LessonPage lesson{*this};
};

} // namespace sparecoat::app
