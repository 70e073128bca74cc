#pragma once
#include "view/app/run_window.hpp"
#include "view/app/session.hpp"
#include "view/render/offscreen.hpp"
#include "view/render/scene.hpp"
#include "view/window/cards.hpp"
#include <cstdint>
#include <deque>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

struct GLFWwindow;
struct ImGuiContext;

namespace sparecoat::app {

/// The window: GLFW and GL around a Session. One at a time in a process, on the main thread.
class Window {
public:
    /// @throws InputError where the request cannot be prepared, or no display or no OpenGL 3.3 is to be had.
    explicit Window(const WindowRequest& request);
    ~Window();
    Window(const Window&) = delete;
    Window& operator=(const Window&) = delete;

    /// Takes events, draws one frame. @return false once it is to be closed.
    bool frame();

    // What GLFW's callbacks call, in screen coordinates; tests call the same.
    void on_key(int key, int action, int mods);
    void on_text(unsigned code_point);
    void on_cursor(double x, double y);
    void on_button(int button, int action, int mods);
    void on_scroll(double x, double y);
    void on_drop(const std::vector<std::filesystem::path>& files);

    Session& session() { return *session_; }
    const FrameTimes& times() const { return times_; }
    const Layout& layout() const { return layout_; } ///< of the last frame, in framebuffer pixels
    const CompareLayout& compare_layout() const { return session_->compare.layout(); }
    void resize(int width, int height);
    using Image = view::Image;
    Image picture(); ///< draws another frame to take it
    /// Something moves or somebody touches something. Else the next frame may wait for an event, or a little
    /// while.
    bool moves() const;
    /// Nothing moves, and nothing is being worked out aside.
    bool at_rest() const;
    int gl_errors() const { return gl_errors_; } ///< errors GL's debug output has told of; 0 without debug_gl
    const std::string& gl_message() const { return gl_message_; }
    void note_gl_error(const std::string& message);

private:
    struct Event {
        enum class Kind { key, text, cursor, button, scroll } kind{};
        int code = 0, action = 0, mods = 0;
        double x = 0, y = 0;
    };
    void open(const WindowRequest& request);
    void take_events();
    void take_key(const Event& event);
    void fit_to_framebuffer();
    void lay_out_pages();
    void work_stage();
    void hold_spot(float x, float y);
    double tape_reach_m(Point2 at) const;
    void work_tape();
    void draw_scene();
    void count_frame(const FrameCount& count);
    void draw_cards();
    void draw_dialogs(const Ui& ui);
    void switch_full_screen();
    void close();

    std::filesystem::path settings_file_;
    std::unique_ptr<Session> session_;
    GLFWwindow* window_ = nullptr;
    ImGuiContext* gui_ = nullptr;
    std::unique_ptr<Scene> scene_;
    FileChooser chooser_;
    Fonts fonts_;
    Layout layout_;
    FrameTimes times_;
    std::deque<Event> events_;
    float width_ = 0, height_ = 0;              ///< framebuffer, pixels
    float per_screen_x_ = 1, per_screen_y_ = 1; ///< pixels per screen coordinate
    double last_s_ = 0;
    bool styled_light_ = true, scene_ready_ = false, moved_ = false;
    Image* capture_ = nullptr;
    int stage_button_ = -1;
    bool taping_ = false; ///< it went down to lay tape
    int restored_[4] = {0, 0, 0, 0};
    int gl_errors_ = 0;
    std::string gl_message_;
};

} // namespace sparecoat::app
