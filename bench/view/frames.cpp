// Frame times and GL work of the real window, and a picture of it for the documents. Needs a display:
// bench/frames brings one.
//   sparecoat_frames WIDTHxHEIGHT ...            a table row for each size and each thing to do
//   sparecoat_frames --picture FILE.png WxH PANEL TECHNIQUE [DEFECTS]   the window at the run's end, worst
//   spot held, or the
//                                                             paint under the lamp, half and half
//   sparecoat_frames --picture FILE.png WxH PANEL TECHNIQUE against TECHNIQUE ...   techniques side by side,
//   with the table
#include "units/error.hpp"
#include "view/app/app.hpp"
#include "view/render/shot.hpp"
#include <algorithm>
#include <chrono>
#include <cstring>
#include <ctime>
#include <fmt/format.h>
#include <glad/gl.h>
#include <imgui.h>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

namespace sparecoat::bench {
namespace {

constexpr int settling_frames = 30, measured_frames = 150;

using Clock = std::chrono::steady_clock;

double ms_since(Clock::time_point began) {
    return std::chrono::duration<double, std::milli>(Clock::now() - began).count();
}

/// What is done while frames are counted: at rest nothing moves but what is drawn all the same.
struct Doing {
    const char* name;
    double times_real_time; ///< 0: paused
    MapKind map;
    bool lamp = false;
};
constexpr Doing doings[] = {{"paused", 0, MapKind::film_lost},
                            {"playing, 1 times", 1, MapKind::film_lost},
                            {"playing, 20 times", 20, MapKind::film_lost},
                            {"playing, 20 times, pressure map", 20, MapKind::pressure_now},
                            {"paused, under the lamp", 0, MapKind::film_lost, true},
                            {"playing, 20 times, under the lamp", 20, MapKind::film_lost, true}};

/// GL work of the type and the cards, which the scene's own count leaves out.
struct CardWork {
    int draws = 0;
    std::size_t bytes = 0;
};
CardWork card_work() {
    CardWork work;
    const ImDrawData* data = ImGui::GetDrawData();
    for (int k = 0; data && k < data->CmdListsCount; ++k) {
        const ImDrawList& list = *data->CmdLists[k];
        work.draws += list.CmdBuffer.Size;
        work.bytes +=
            static_cast<std::size_t>(list.VtxBuffer.size_in_bytes() + list.IdxBuffer.size_in_bytes());
    }
    return work;
}

struct Measured {
    std::vector<double> frame_ms;
    double processor_ms = 0; ///< mean a frame, of all threads: drawing and simulation together
    double update_ms = 0, scene_ms = 0, cards_ms = 0, gui_ms = 0, swap_ms = 0;    ///< means
    double scene_draws = 0, card_draws = 0, tiles = 0, scene_kb = 0, card_kb = 0; ///< means a frame
    double most_scene_kb = 0;
};

/// The value that a share of them do not exceed.
double quantile(std::vector<double> values, double share) {
    const auto k = static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), values.begin() + k, values.end());
    return values[static_cast<std::size_t>(k)];
}

Measured measure(Window& window) {
    for (int k = 0; k < settling_frames; ++k) window.frame();
    Measured m;
    const std::clock_t processor_before = std::clock();
    for (int k = 0; k < measured_frames; ++k) {
        const Clock::time_point began = Clock::now();
        window.frame();
        m.frame_ms.push_back(ms_since(began));
        const FrameTimes& t = window.times();
        const CardWork cards = card_work();
        constexpr double part = 1.0 / measured_frames;
        m.update_ms += part * t.update_ms, m.scene_ms += part * t.scene_ms, m.cards_ms += part * t.cards_ms;
        m.gui_ms += part * t.gui_ms, m.swap_ms += part * t.swap_ms;
        m.scene_draws += part * t.draws, m.card_draws += part * cards.draws, m.tiles += part * t.tiles;
        m.scene_kb += part * t.uploaded_kb, m.card_kb += part * static_cast<double>(cards.bytes) / 1024;
        m.most_scene_kb = std::max(m.most_scene_kb, t.uploaded_kb);
    }
    m.processor_ms =
        1e3 * static_cast<double>(std::clock() - processor_before) / CLOCKS_PER_SEC / measured_frames;
    return m;
}

void wait_for(Window& window, const char* what, const auto& done) {
    const Clock::time_point began = Clock::now();
    while (!done()) {
        if (ms_since(began) > 180e3)
            throw std::runtime_error(std::string("three minutes have gone by without ") + what);
        window.frame();
    }
}

/// A size in pixels of a display at scale 1.
WindowRequest request_for(const std::string& panel, const std::string& technique, int width, int height) {
    WindowRequest request;
    request.panel = panel, request.technique = technique, request.paint = "typical";
    request.width = width, request.height = height;
    request.light_theme = true;
    request.settings_file = ""; // neither read nor left changed
    return request;
}

/// The rear door worked with a mistake, as ./run opens it.
WindowRequest demo(int width, int height) { return request_for("rear-door", "edge-overrun", width, height); }

void wait_for_run(Window& window) {
    wait_for(window, "a first frame of the run",
             [&] { return window.session().view.generation > 0 && window.session().view.end_s > 0; });
}

void set_going(Session& session, const Doing& doing) {
    session.show(doing.map);
    session.lamp.model.lit = doing.lamp;
    session.live.pause();
    if (doing.times_real_time == 0) return;
    session.live.set_speed(doing.times_real_time);
    session.live.play();
}

void print_rows(int width, int height) {
    Window window(demo(width, height));
    wait_for_run(window);
    // A run that has come some way: a path to draw, a map with something in it.
    window.session().live.seek(0.25 * window.session().view.end_s);
    wait_for(window, "reaching the first quarter",
             [&] { return window.session().view.t_s >= 0.2499 * window.session().view.end_s; });
    for (const Doing& doing : doings) {
        set_going(window.session(), doing);
        if (doing.lamp)
            wait_for(window, "marks under the lamp", [&] { return window.session().lamp.model.shown(); });
        const Measured m = measure(window);
        const double half = quantile(m.frame_ms, 0.5);
        fmt::print(
            "| {}x{} | {} | {:.0f} | {:.0f} | {:.0f} | {:.0f} | {:.1f} / {:.1f} / {:.1f} / {:.1f} / {:.1f} |",
            width, height, doing.name, half, quantile(m.frame_ms, 0.95), 1e3 / half, m.processor_ms,
            m.update_ms, m.scene_ms, m.cards_ms, m.gui_ms, m.swap_ms);
        fmt::print(" {:.0f} + {:.0f} | {:.1f} | {:.0f} ({:.0f}) + {:.0f} |\n", m.scene_draws, m.card_draws,
                   m.tiles, m.scene_kb, m.most_scene_kb, m.card_kb);
        std::fflush(stdout);
    }
}

void print_table(const std::vector<std::pair<int, int>>& sizes) {
    {
        Window window(demo(1280, 720));
        fmt::print("OpenGL by: {}. {} processor threads.\n\n",
                   reinterpret_cast<const char*>(glGetString(GL_RENDERER)),
                   std::thread::hardware_concurrency());
    }
    fmt::print("| window | doing | half the frames under, ms | 95 % under, ms | frames a second | processor, "
               "ms a frame "
               "| run / panel / cards / type / swap, ms | draws, panel + cards | tiles | kB up, panel (most) "
               "+ cards |\n");
    fmt::print("| --- | --- | ---: | ---: | ---: | ---: | --- | ---: | ---: | ---: |\n");
    for (const auto& [width, height] : sizes) print_rows(width, height);
}

/// Techniques side by side at the end of their runs, with the table.
void take_compared(const std::string& png, const WindowRequest& request) {
    Window window(request);
    CompareModel& bench = window.session().compare.model;
    wait_for(window, "the runs", [&] { return bench.has_runs() && bench.arrived(); });
    window.session().act(Action::to_end);
    wait_for(window, "the draws", [&] { return bench.comparison() && bench.arrived(); });
    for (int k = 0; k < settling_frames; ++k) window.frame();
    write_png(png, window.picture());
}

void take_picture(const std::string& png, const WindowRequest& request) {
    if (!request.against.empty()) return take_compared(png, request);
    Window window(request);
    wait_for_run(window);
    Session& session = window.session();
    session.act(Action::to_end);
    wait_for(window, "the run's end", [&] { return session.view.finished; });
    wait_for(window, "a verdict", [&] { return session.verdict.has_value(); });
    if (request.defects.empty()) {
        session.act(Action::next_spot);
    } else {
        wait_for(window, "marks under the lamp", [&] { return session.lamp.model.shown(); });
        session.lamp.model.show(LampShow::half, session.shown->panel, session.camera.eye());
    }
    for (int k = 0; k < settling_frames; ++k) window.frame(); // the verdict of the very end, ranges, hovers
    write_png(png, window.picture());
}

} // namespace
} // namespace sparecoat::bench

int main(int argc, char** argv) {
    using namespace sparecoat::cli;
    try {
        const bool compared = argc >= 8 && std::strcmp(argv[6], "against") == 0;
        if ((argc == 6 || argc == 7 || compared) && std::strcmp(argv[1], "--picture") == 0) {
            const auto [width, height] = parse_shot_size(argv[3]);
            WindowRequest request = sparecoat::bench::request_for(argv[4], argv[5], width, height);
            if (compared) request.against.assign(argv + 7, argv + argc);
            else if (argc == 7) request.defects = argv[6];
            sparecoat::bench::take_picture(argv[2], request);
            return 0;
        }
        std::vector<std::pair<int, int>> sizes;
        for (int k = 1; k < argc; ++k) sizes.push_back(parse_shot_size(argv[k]));
        if (sizes.empty()) {
            fmt::print(stderr, "usage: sparecoat_frames WIDTHxHEIGHT ... | --picture FILE.png WIDTHxHEIGHT "
                               "PANEL TECHNIQUE [DEFECTS | against TECHNIQUE ...]\n");
            return 2;
        }
        sparecoat::bench::print_table(sizes);
        return 0;
    } catch (const std::exception& error) {
        fmt::print(stderr, "sparecoat_frames: {}\n", error.what());
        return 1;
    }
}
