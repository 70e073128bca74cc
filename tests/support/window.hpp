#pragma once
// The real window for tests: a display, fingers on keys and mouse, and what pictures show.
#include "support/process.hpp"
#include "view/app/app.hpp"
#include "view/render/shot.hpp"
#include "view/window/keys.hpp"
#include <GLFW/glfw3.h>
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <functional>
#include <string>
#include <thread>
#include <unistd.h>

namespace sparecoat::test {
using namespace cli;

/// A display for the test: the one there is, or a virtual one of its own.
class Display {
public:
    Display() {
        if (std::getenv("DISPLAY") || std::getenv("WAYLAND_DISPLAY")) {
            there_ = true;
            return;
        }
        for (int attempt = 0; attempt < 20 && !there_;
             ++attempt) { // two servers starting at once may want one number
            start();
            there_ = server_ > 0 && glfwInit() == GLFW_TRUE;
            if (there_) glfwTerminate();
            else stop(), std::this_thread::sleep_for(std::chrono::milliseconds(50 * attempt));
        }
    }
    ~Display() { stop(); }
    bool there() const { return there_; }

private:
    void start() {
        int ready[2];
        if (::pipe(ready) != 0) return;
        server_ = start_program("Xvfb", {"-displayfd", std::to_string(ready[1]), "-screen", "0",
                                         "2600x1500x24", "-nolisten", "tcp"});
        ::close(ready[1]);
        char number[16] = {};
        const ssize_t got = ::read(ready[0], number, sizeof number - 1); // Xvfb writes it once it listens
        ::close(ready[0]);
        if (got <= 0) return stop();
        number[std::strcspn(number, "\n")] = 0;
        ::setenv("DISPLAY", (std::string(":") + number).c_str(), 1);
    }
    void stop() {
        if (server_ <= 0) return;
        ::kill(server_, SIGTERM);
        wait_for(server_);
        server_ = -1;
        ::unsetenv("DISPLAY");
    }

    bool there_ = false;
    pid_t server_ = -1;
};

/// Fingers on a window: what a person would do, through the functions GLFW's callbacks call.
class Fingers {
public:
    explicit Fingers(Window& window) : window_(window) {}

    void frames(int count) {
        for (int k = 0; k < count; ++k) window_.frame();
    }
    bool until(const std::function<bool()>& done, double at_most_s = 30) {
        const auto end = std::chrono::steady_clock::now() + std::chrono::duration<double>(at_most_s);
        while (!done()) {
            if (std::chrono::steady_clock::now() > end) return false;
            window_.frame();
        }
        return true;
    }
    void press(int key, int mods = 0) {
        constexpr std::pair<int, int> modifiers[] = {{GLFW_MOD_CONTROL, GLFW_KEY_LEFT_CONTROL},
                                                     {GLFW_MOD_SHIFT, GLFW_KEY_LEFT_SHIFT},
                                                     {GLFW_MOD_ALT, GLFW_KEY_LEFT_ALT}};
        for (const auto& [bit, code] : modifiers)
            if (mods & bit) window_.on_key(code, GLFW_PRESS, 0);
        window_.on_key(key, GLFW_PRESS, mods);
        window_.on_key(key, GLFW_RELEASE, mods);
        for (const auto& [bit, code] : modifiers)
            if (mods & bit) window_.on_key(code, GLFW_RELEASE, bit); // X11 still counts the one that goes up
        frames(mods ? 7 : 3); // one key's event a frame, and one to show it
        until([&] { return !window_.session().preparing(); });
    }
    /// The key that the table has for an action.
    void act(const std::string& id) {
        for (const KeyBinding& binding : key_bindings())
            if (id == binding.id) return press(binding.key, binding.mods);
        FAIL("no binding " << id);
    }
    void type(const std::string& words) {
        for (const char c : words) window_.on_text(static_cast<unsigned>(static_cast<unsigned char>(c)));
        frames(2);
    }
    void move_to(ImVec2 at) { window_.on_cursor(static_cast<double>(at.x), static_cast<double>(at.y)); }
    void hold(int button) { window_.on_button(button, GLFW_PRESS, 0); }
    void let_go(int button) { window_.on_button(button, GLFW_RELEASE, 0); }
    void click(ImVec2 at) {
        move_to(at);
        frames(2);
        hold(0), frames(1);
        let_go(0), frames(2);
    }
    /// Where a point of the panel is seen.
    ImVec2 over(Point2 at) {
        const Box& stage = window_.layout().stage;
        const Session& session = window_.session();
        const auto z = static_cast<float>(height_at(session.shown->panel, at));
        const glm::vec3 p = session.camera.project({static_cast<float>(at.x), static_cast<float>(at.y), z},
                                                   stage.w / stage.h);
        return {stage.x + p.x * stage.w, stage.y + p.y * stage.h};
    }

private:
    Window& window_;
};

/// Share of the pixels within a box that differ between two pictures.
inline double difference(const Window::Image& a, const Window::Image& b, const Box& box) {
    REQUIRE((a.width == b.width && a.height == b.height));
    std::size_t unlike = 0, all = 0;
    for (int y = static_cast<int>(box.y); y < static_cast<int>(box.y + box.h); ++y)
        for (int x = static_cast<int>(box.x); x < static_cast<int>(box.x + box.w); ++x) {
            const std::size_t k = (static_cast<std::size_t>(y) * static_cast<std::size_t>(a.width) +
                                   static_cast<std::size_t>(x)) *
                                  4;
            int most = 0;
            for (std::size_t c = 0; c < 3; ++c)
                most = std::max(most, std::abs(int{a.rgba[k + c]} - int{b.rgba[k + c]}));
            unlike += most > 12;
            ++all;
        }
    return static_cast<double>(unlike) / static_cast<double>(all);
}

inline std::array<int, 3> pixel(const Window::Image& image, float x, float y) {
    const std::size_t k =
        (static_cast<std::size_t>(y) * static_cast<std::size_t>(image.width) + static_cast<std::size_t>(x)) *
        4;
    return {image.rgba[k], image.rgba[k + 1], image.rgba[k + 2]};
}

inline WindowRequest window_request(const std::filesystem::path& settings) {
    WindowRequest request;
    request.panel = "test-plate", request.technique = "polish-da-15", request.paint = "typical";
    request.grid_m = 0.004, request.width = 1280, request.height = 720;
    request.light_theme = true, request.settings_file = settings, request.debug_gl = true;
    return request;
}

} // namespace sparecoat::test
