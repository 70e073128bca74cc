#pragma once
#include "view/pages/lesson/lesson_play.hpp"
#include "view/window/run_session.hpp"

namespace sparecoat::view::lesson {

/// Lessons: what one puts aside, how it is stepped through, and how all is put back.
class LessonPage : public Page {
public:
    explicit LessonPage(RunSession& session) : session_(session) {}

    std::optional<LessonPlay> play; ///< the one under way
    bool list = false;              ///< the list to choose from is shown
    int row = 0;                    ///< in it
    /// Works both sides as a background task; a later tick begins the lesson.
    void open(const std::string& reference);
    /// Sets the camera as the step wants it, once its panel is shown and framed.
    void set_view();

    bool act(Action action) override;
    bool is_on(Action action) const override { return action == Action::lessons && (list || play); }
    bool dialog() const override { return list; }
    bool key_in_dialog(int key) override; ///< up, down and Enter
    bool close_dialog() override { return std::exchange(list, false); }
    bool close() override;
    void end_tick() override;
    bool works_in_background() const override { return maker_.working(); }
    void leave() override; ///< everything is as it was before it
    bool draw_card(const Ui& ui, CardPlace place, const Box& box) override;
    void draw_dialog(const Ui& ui, float width, float height) override;

private:
    void begin();
    void show_step();
    void go(int by);  ///< steps
    void turn_over(); ///< shows the step's other side
    void play_step();

    RunSession& session_;
    LessonMaker maker_;
    std::optional<Camera> camera_back_;      ///< after a lesson
    std::optional<double> rewinding_from_s_; ///< to play a step anew: until then the view is still there
};

} // namespace sparecoat::view::lesson
