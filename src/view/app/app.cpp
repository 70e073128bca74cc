#include "view/app/app.hpp"
#include "library/sweep_design.hpp"
#include "units/error.hpp"
#include "view/render/shot.hpp"
#include <glad/gl.h>
#define GLFW_INCLUDE_NONE
#include <GLFW/glfw3.h>
#include <algorithm>
#include <backends/imgui_impl_opengl3.h>
#include <cmath>
#include <imgui.h>
#include <imgui_internal.h> // ClosePopupToLevel, WantTextInputNextFrame

namespace sparecoat::app {
namespace {

constexpr int usual_width = 1280, usual_height = 720, least_width = 900, least_height = 560;

std::string last_glfw_error;

Window& window_of(GLFWwindow* handle) { return *static_cast<Window*>(glfwGetWindowUserPointer(handle)); }

void GLAD_API_PTR hear_gl(GLenum, GLenum type, GLuint, GLenum severity, GLsizei, const GLchar* message,
                          const void* window) {
    if (type == GL_DEBUG_TYPE_ERROR ||
        (severity == GL_DEBUG_SEVERITY_HIGH && type != GL_DEBUG_TYPE_PERFORMANCE))
        static_cast<Window*>(const_cast<void*>(window))->note_gl_error(message);
}

/// ImGui asks for editing keys by its own names.
void name_keys(ImGuiIO& io) {
    const std::pair<ImGuiKey, int> keys[] = {{ImGuiKey_Tab, GLFW_KEY_TAB},
                                             {ImGuiKey_LeftArrow, GLFW_KEY_LEFT},
                                             {ImGuiKey_RightArrow, GLFW_KEY_RIGHT},
                                             {ImGuiKey_UpArrow, GLFW_KEY_UP},
                                             {ImGuiKey_DownArrow, GLFW_KEY_DOWN},
                                             {ImGuiKey_PageUp, GLFW_KEY_PAGE_UP},
                                             {ImGuiKey_PageDown, GLFW_KEY_PAGE_DOWN},
                                             {ImGuiKey_Home, GLFW_KEY_HOME},
                                             {ImGuiKey_End, GLFW_KEY_END},
                                             {ImGuiKey_Delete, GLFW_KEY_DELETE},
                                             {ImGuiKey_Backspace, GLFW_KEY_BACKSPACE},
                                             {ImGuiKey_Enter, GLFW_KEY_ENTER},
                                             {ImGuiKey_KeyPadEnter, GLFW_KEY_KP_ENTER},
                                             {ImGuiKey_Escape, GLFW_KEY_ESCAPE},
                                             {ImGuiKey_A, GLFW_KEY_A},
                                             {ImGuiKey_C, GLFW_KEY_C},
                                             {ImGuiKey_V, GLFW_KEY_V},
                                             {ImGuiKey_X, GLFW_KEY_X},
                                             {ImGuiKey_Y, GLFW_KEY_Y},
                                             {ImGuiKey_Z, GLFW_KEY_Z}};
    for (const auto& [name, key] : keys) io.KeyMap[name] = key;
}

RunRequest run_request(const WindowRequest& asked, const Settings& settings) {
    RunRequest request;
    request.panel = asked.panel.empty() ? settings.panel : asked.panel;
    request.technique = asked.technique.empty() ? settings.technique : asked.technique;
    request.paint = asked.paint.empty() ? settings.paint : asked.paint;
    request.path_csv = asked.path_csv;
    if (asked.readings) request.readings = load_gauge_csv(*asked.readings);
    request.grid_m = asked.grid_m;
    request.seed = asked.seed;
    return request;
}

/// The settings' presets may be gone since; what was asked for by name may not.
std::unique_ptr<Session> make_session(const WindowRequest& asked, const Settings& settings,
                                      std::string& notice) {
    const Library library = Library::standard();
    try {
        return std::make_unique<Session>(library, run_request(asked, settings), settings);
    } catch (const InputError& error) {
        const bool all_asked = !asked.panel.empty() && !asked.technique.empty() && !asked.paint.empty();
        if (all_asked) throw;
        Settings usual = settings;
        const Settings first;
        usual.panel = first.panel, usual.technique = first.technique, usual.paint = first.paint;
        auto session = std::make_unique<Session>(library, run_request(asked, usual), usual);
        notice = std::string("Last time's choice is not to be had. ") + error.what();
        return session;
    }
}

double mean(double before, double now) { return before <= 0 ? now : before + 0.1 * (now - before); }

} // namespace

// ---- opening and closing --------------------------------------------------------------------------

Window::Window(const WindowRequest& request) {
    settings_file_ = request.settings_file.value_or(settings_path());
    LoadedSettings loaded = load_settings(settings_file_);
    if (request.light_theme) loaded.settings.light_theme = *request.light_theme;
    std::string notice;
    if (!request.defects.empty()) {
        Library::standard().defects(
            request.defects); // what was asked for by name is refused here, and not in the window
        loaded.settings.defects = request.defects;
    }
    session_ = make_session(request, loaded.settings, notice);
    session_->lamp.model.lit = !request.defects.empty();
    if (request.job) {
        session_->board.model.open(
            *request.job); // what was asked for by name is refused here, and not in the window
        session_->bring_to_front(session_->board);
    }
    if (!request.against.empty()) session_->compare.open(request.against);
    if (request.sweep) {
        const Library library = Library::standard();
        library.sweep(
            request.sweep->design); // what was asked for by name is refused here, and not in the window
        session_->charts.open(sweep_charts(library, request.sweep->design, request.sweep->results));
        if (request.job && request.against.empty()) session_->bring_to_front(session_->board);
    }
    if (!loaded.notice.empty()) notice = loaded.notice;
    try {
        open(request);
    } catch (...) {
        close();
        throw;
    }
    if (!notice.empty()) session_->messages.push_back(notice);
}

void Window::open(const WindowRequest& request) {
    glfwSetErrorCallback([](int, const char* words) { last_glfw_error = words; });
    if (!glfwInit())
        throw InputError("", "display", last_glfw_error.empty() ? "none" : last_glfw_error,
                         "a display; without one, `sparecoat run` and `sparecoat shot` make pictures");
    glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
    glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 3);
    glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
    glfwWindowHint(GLFW_OPENGL_FORWARD_COMPAT, GLFW_TRUE);
    glfwWindowHint(GLFW_OPENGL_DEBUG_CONTEXT, request.debug_gl ? GLFW_TRUE : GLFW_FALSE);
    glfwWindowHint(GLFW_SCALE_TO_MONITOR, GLFW_TRUE);
    const Settings& settings = session_->settings;
    const int width = request.width > 0 ? request.width : settings.width > 0 ? settings.width : usual_width;
    const int height = request.height > 0    ? request.height
                       : settings.height > 0 ? settings.height
                                             : usual_height;
    window_ = glfwCreateWindow(width, height, "Sparecoat", nullptr, nullptr);
    if (!window_)
        throw InputError("", "display", last_glfw_error,
                         "a display with OpenGL 3.3 (software rendering will do)");
    glfwSetWindowSizeLimits(window_, least_width, least_height, GLFW_DONT_CARE, GLFW_DONT_CARE);
    glfwSetWindowUserPointer(window_, this);
    glfwMakeContextCurrent(window_);
    if (gladLoadGL(glfwGetProcAddress) == 0)
        throw InputError("", "display", "a display whose OpenGL cannot be loaded", "OpenGL 3.3");
    glfwSwapInterval(1);
    if (request.debug_gl && GLAD_GL_KHR_debug) {
        glEnable(GL_DEBUG_OUTPUT);
        glEnable(GL_DEBUG_OUTPUT_SYNCHRONOUS);
        glDebugMessageCallback(hear_gl, this);
    }
    glfwSetKeyCallback(window_, [](GLFWwindow* w, int key, int, int action, int mods) {
        window_of(w).on_key(key, action, mods);
    });
    glfwSetCharCallback(window_, [](GLFWwindow* w, unsigned c) { window_of(w).on_text(c); });
    glfwSetCursorPosCallback(window_,
                             [](GLFWwindow* w, double x, double y) { window_of(w).on_cursor(x, y); });
    glfwSetMouseButtonCallback(window_,
                               [](GLFWwindow* w, int b, int a, int m) { window_of(w).on_button(b, a, m); });
    glfwSetScrollCallback(window_, [](GLFWwindow* w, double x, double y) { window_of(w).on_scroll(x, y); });
    glfwSetDropCallback(window_, [](GLFWwindow* w, int count, const char** files) {
        window_of(w).on_drop({files, files + count});
    });
    gui_ = ImGui::CreateContext();
    ImGuiIO& io = ImGui::GetIO();
    io.IniFilename = nullptr; // what is worth keeping is in the settings
    io.BackendPlatformName = "sparecoat";
    io.ClipboardUserData = window_;
    io.GetClipboardTextFn = [](void* w) { return glfwGetClipboardString(static_cast<GLFWwindow*>(w)); };
    io.SetClipboardTextFn = [](void* w, const char* text) {
        glfwSetClipboardString(static_cast<GLFWwindow*>(w), text);
    };
    session_->clipboard = [this] {
        const char* text = glfwGetClipboardString(window_);
        return std::string(text ? text : "");
    };
    name_keys(io);
    ImGui_ImplOpenGL3_Init("#version 330 core");
    scene_ = std::make_unique<Scene>();
    last_s_ = glfwGetTime();
}

void Window::close() {
    scene_.reset();
    if (session_)
        for (Page* page : session_->pages()) page->drop_drawing();
    if (gui_) {
        ImGui_ImplOpenGL3_Shutdown();
        ImGui::DestroyContext(gui_);
        gui_ = nullptr;
    }
    if (window_) glfwDestroyWindow(window_);
    window_ = nullptr;
    glfwTerminate();
}

Window::~Window() {
    session_->lesson.leave();    // its choices are not the person's
    session_->board.close_job(); // nor are its panels
    Settings& settings = session_->settings;
    const RunRequest& request = session_->edits.choices().request;
    settings.panel = request.panel, settings.technique = request.technique, settings.paint = request.paint;
    if (window_ && !glfwGetWindowMonitor(window_)) {
        float sx = 1, sy = 1;
        glfwGetWindowContentScale(window_, &sx, &sy);
        glfwGetWindowSize(window_, &settings.width, &settings.height);
        if (per_screen_x_ == 1) { // where screen coordinates are pixels GLFW multiplies by the scale again
            settings.width = static_cast<int>(static_cast<float>(settings.width) / sx);
            settings.height = static_cast<int>(static_cast<float>(settings.height) / sy);
        }
    }
    if (!settings_file_.empty()) {
        try {
            save_settings(settings_file_, settings);
        } catch (const InputError&) {
            // a read-only home: the window is gone, so there is nobody left to tell
        }
    }
    close();
}

void Window::note_gl_error(const std::string& message) {
    ++gl_errors_;
    gl_message_ = message;
}

// ---- drawing --------------------------------------------------------------------------------------

void Window::fit_to_framebuffer() {
    int w = 0, h = 0, sw = 0, sh = 0;
    glfwGetFramebufferSize(window_, &w, &h);
    glfwGetWindowSize(window_, &sw, &sh);
    width_ = static_cast<float>(std::max(w, 1)), height_ = static_cast<float>(std::max(h, 1));
    per_screen_x_ = sw > 0 ? width_ / static_cast<float>(sw) : 1;
    per_screen_y_ = sh > 0 ? height_ / static_cast<float>(sh) : 1;
    ImGui::GetIO().DisplaySize = {width_, height_};
    // Type grows with the window, as a projector's picture would, and never under what the display calls for.
    float content_x = 1, content_y = 1;
    glfwGetWindowContentScale(window_, &content_x, &content_y);
    const float by_size = std::min(width_ / usual_width, height_ / usual_height);
    const float scale = std::clamp(std::max(by_size, 0.75f * content_x), 0.7f, 4.0f);
    const bool light = session_->settings.light_theme;
    const bool resized = fonts_.body == nullptr || std::abs(scale / fonts_.scale - 1) > 0.03f;
    if (resized) {
        std::string notice;
        if (fonts_.body) ImGui_ImplOpenGL3_DestroyFontsTexture();
        fonts_ = load_fonts(scale, notice);
        ImGui_ImplOpenGL3_CreateFontsTexture();
        if (!notice.empty()) session_->notify(notice);
    }
    if (resized || light != styled_light_) apply_style(palette(light), fonts_.scale);
    styled_light_ = light;
}

/// Where everything is for what is in front now.
void Window::lay_out_pages() {
    layout_ = lay_out(width_, height_, fonts_.scale, session_->cards, session_->settings.strip_charts,
                      session_->in_lesson, session_->edge.model.open, session_->section.shown());
    if (Page* page = session_->front()) page->lay_out(width_, height_, fonts_.scale);
    const auto units = [&](float pixels) { return static_cast<double>(pixels / fonts_.scale); };
    session_->stage = {0, 0, units(layout_.stage.w), units(layout_.stage.h)};
}

void Window::draw_scene() {
    Session& session = *session_;
    const ImVec4 page = ImGui::ColorConvertU32ToFloat4(palette(session.settings.light_theme).page);
    glBindFramebuffer(GL_FRAMEBUFFER, 0);
    glViewport(0, 0, static_cast<int>(width_), static_cast<int>(height_));
    glDisable(GL_SCISSOR_TEST);
    glClearColor(page.x, page.y, page.z, 1);
    glClear(GL_COLOR_BUFFER_BIT | GL_DEPTH_BUFFER_BIT);
    times_.tiles = 0, times_.uploaded_kb = 0;
    if (Page* in_front = session.front()) {
        if (session.panel_changed()) scene_ready_ = false; // the panel is taken up once it is seen
        return count_frame(in_front->draw_panels(height_, fonts_.scale));
    }
    if (session.map.size() != session.shown->panel.grid.cells()) return; // no frame of the run yet
    const Box& stage = layout_.stage;
    session.camera.resize(stage.w / stage.h, layout_.legend.w / stage.h);
    if (session.panel_changed() || !scene_ready_) {
        scene_->set_panel(session.shown->panel);
        session.camera.frame(session.shown->panel, stage.w / stage.h, layout_.legend.w / stage.h);
        scene_ready_ = true;
    }
    session.lesson.set_view();
    scene_->update_map(session.map, session.changed_tiles());

    const RunJob& job = *session.shown;
    const double factor = session.shown_per_unit();
    SceneState state;
    state.light_theme = session.settings.light_theme;
    state.colours = &colours_of(session.settings.map);
    state.low = static_cast<float>(session.scale.low / factor),
    state.high = static_cast<float>(session.scale.high / factor);
    state.contour_step = session.settings.contours ? static_cast<float>(session.scale.step / factor) : 0;
    state.draw_map = session.shows_map();
    state.pad = session.view.now;
    state.pad_opacity = 0.8f; // the map under it is what the pad is watched for
    state.path_opacity = session.draw_map ? 0.5f : 1.0f;
    state.pixel_scale = fonts_.scale;
    if (session.view.hand) state.pad->at = session.hand_at(); // not a step behind
    if (session.settings.map == MapKind::chance)
        state.contour_levels = {chance_levels[0], chance_levels[1], chance_levels[2]};
    show_work(state, job, session.view, session.view.by_hand ? session.view.stroke : job.path.samples,
              std::nullopt);
    if (session.shows_map()) state.pins = session.pins();
    state.frames = session.section.tape_frames();
    if (session.lamp.model.shown()) {
        scene_->update_lamp(session.lamp.model.marks(), session.lamp.model.cells().cells(),
                            session.lamp.model.take_changed());
        state.lamp = session.lamp.model.lamp, state.lamp_own_scale = session.lamp.model.cells().own_scale(),
        state.lamp_foot = true;
    }
    const std::optional<Point2> on_profile = session.edge.model.hovered_at(job.panel);
    state.pointer = session.view.hand ? std::nullopt : on_profile ? on_profile : session.spot();
    const FrameCount count = scene_->draw(session.camera, state, static_cast<int>(stage.x),
                                          static_cast<int>(height_ - stage.y - stage.h),
                                          static_cast<int>(stage.w), static_cast<int>(stage.h));
    count_frame(count);
}

void Window::count_frame(const FrameCount& count) {
    times_.draws = count.draws, times_.tiles = count.tiles_uploaded;
    times_.uploaded_kb = static_cast<double>(count.bytes_uploaded) / 1024;
}

void Window::draw_cards() {
    const Ui ui{*session_, palette(session_->settings.light_theme), fonts_, fonts_.scale};
    if (Page* page = session_->front()) {
        page->draw(ui, width_, height_);
        return draw_dialogs(ui);
    }
    draw_headline(ui, layout_.headline);
    if (session_->cards) {
        if (!draw_card(ui, CardPlace::technique, layout_.technique)) draw_controls(ui, layout_.technique);
        draw_map_chooser(ui, layout_.maps);
        if (!draw_card(ui, CardPlace::spot, layout_.spot)) draw_spot_card(ui, layout_.spot);
    }
    if (!draw_card(ui, CardPlace::strips, layout_.strips)) draw_strip_charts(ui, layout_.strips);
    draw_card(ui, CardPlace::lesson, layout_.lesson);
    draw_time_strip(ui, layout_.time, layout_.track);
    draw_legend(ui, layout_.legend);
    draw_stage_marks(ui, layout_.stage);
    draw_dialogs(ui);
}

/// What stands in front of everything else.
void Window::draw_dialogs(const Ui& ui) {
    chooser_.draw(ui, width_, height_);
    for (Page* page : session_->pages()) page->draw_dialog(ui, width_, height_);
    draw_help(ui, width_, height_);
    draw_question(ui, width_, height_);
    draw_message(ui, width_, height_);
    if (session_->timing) draw_timing(ui, layout_.stage, times_);
}

bool Window::frame() {
    const double began_s = glfwGetTime();
    glfwPollEvents();
    fit_to_framebuffer();
    ImGuiIO& io = ImGui::GetIO();
    io.DeltaTime = static_cast<float>(std::clamp(began_s - last_s_, 1e-4, 0.25));
    take_events();
    lay_out_pages(); // what a key brought to the front has its place
    ImGui_ImplOpenGL3_NewFrame();
    ImGui::NewFrame();
    work_stage();
    session_->tick(began_s);
    lay_out_pages(); // and what came of work aside
    const double ticked_s = glfwGetTime();
    draw_scene();
    const double drawn_s = glfwGetTime();
    draw_cards();
    const double laid_s = glfwGetTime();
    ImGui::Render();
    glViewport(0, 0, static_cast<int>(width_), static_cast<int>(height_));
    ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
    const double typed_s = glfwGetTime();
    if (capture_) {
        capture_->width = static_cast<int>(width_), capture_->height = static_cast<int>(height_);
        const std::size_t row = static_cast<std::size_t>(capture_->width) * 4;
        capture_->rgba.resize(row * static_cast<std::size_t>(capture_->height));
        glPixelStorei(GL_PACK_ALIGNMENT, 1);
        for (int y = 0; y < capture_->height; ++y) // GL's rows come from the bottom
            glReadPixels(0, capture_->height - 1 - y, capture_->width, 1, GL_RGBA, GL_UNSIGNED_BYTE,
                         capture_->rgba.data() + row * static_cast<std::size_t>(y));
    }
    glfwSwapBuffers(window_);
    const double ended_s = glfwGetTime();
    if (session_->wants_full_screen) switch_full_screen();

    times_.update_ms = mean(times_.update_ms, 1e3 * (ticked_s - began_s));
    times_.scene_ms = mean(times_.scene_ms, 1e3 * (drawn_s - ticked_s));
    times_.cards_ms = mean(times_.cards_ms, 1e3 * (laid_s - drawn_s));
    times_.gui_ms = mean(times_.gui_ms, 1e3 * (typed_s - laid_s));
    times_.swap_ms = mean(times_.swap_ms, 1e3 * (ended_s - typed_s));
    times_.whole_ms = mean(times_.whole_ms, 1e3 * (began_s - last_s_));
    last_s_ = began_s;
    if (glfwWindowShouldClose(window_)) { // the same as the key: a stroke may have to be asked about
        glfwSetWindowShouldClose(window_, GLFW_FALSE);
        session_->act(Action::quit);
    }
    return !session_->quit;
}

Window::Image Window::picture() {
    Image image;
    capture_ = &image;
    frame();
    capture_ = nullptr;
    return image;
}

void Window::resize(int width, int height) { glfwSetWindowSize(window_, width, height); }

void Window::switch_full_screen() {
    session_->wants_full_screen = false;
    if (glfwGetWindowMonitor(window_)) {
        glfwSetWindowMonitor(window_, nullptr, restored_[0], restored_[1], restored_[2], restored_[3],
                             GLFW_DONT_CARE);
        return;
    }
    GLFWmonitor* monitor = glfwGetPrimaryMonitor();
    const GLFWvidmode* mode = monitor ? glfwGetVideoMode(monitor) : nullptr;
    if (!mode) return;
    glfwGetWindowPos(window_, &restored_[0], &restored_[1]);
    glfwGetWindowSize(window_, &restored_[2], &restored_[3]);
    glfwSetWindowMonitor(window_, monitor, 0, 0, mode->width, mode->height, mode->refreshRate);
}

bool Window::moves() const {
    return !events_.empty() || session_->view.playing || session_->view.hand ||
           std::ranges::any_of(session_->pages(), [](const Page* page) { return page->moves(); }) ||
           ImGui::IsAnyItemActive();
}

bool Window::at_rest() const { return !moves() && !session_->works_in_background(); }

int run_window(const WindowRequest& request) {
    Window window(request);
    int still = 0; // frames since anything moved; a few are drawn so that hovers and seeks settle
    constexpr double rest_s = 0.06, least_frame_s = 1.0 / 65;
    double began_s = glfwGetTime();
    while (window.frame()) {
        still = window.moves() ? 0 : still + 1;
        const double spent_s = glfwGetTime() - began_s;
        // What is worked out aside only wants its progress seen: drawing it more often would take the
        // processor from it. Without a display clock (no vertical sync) nothing else would hold the loop
        // back.
        if (still > 20) glfwWaitEventsTimeout(rest_s);
        else if (spent_s < least_frame_s) glfwWaitEventsTimeout(least_frame_s - spent_s);
        began_s = glfwGetTime();
    }
    return 0;
}

} // namespace sparecoat::app
