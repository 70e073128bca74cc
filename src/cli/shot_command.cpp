#include "cli/shot_command.hpp"
#include "cli/usage.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include "view/render/shot.hpp"
#include <CLI/CLI.hpp>
#include <iostream>
#include <tuple>

namespace sparecoat::cli {

namespace {

/// What belongs to the lamp, and is refused without it.
std::optional<ShotLamp> asked_lamp(const ShotOptions& o) {
    constexpr const char* lamp = "lamp";
    const std::pair<const char*, const std::optional<std::string>*> own[] = {
        {"--defects", &o.defects}, {"--lamp", &o.lamp}, {"--show", &o.show}};
    for (const auto& [option, value] : own)
        if (*value && o.map != lamp)
            throw InputError("", option, "--map " + o.map, std::string(option) + " with --map lamp");
    if (o.map != lamp) return {};
    if (!o.defects)
        throw InputError("", "--map", "lamp without --defects",
                         "--defects with what the panel was found with, such as severe");
    demand_some("--defects", *o.defects, "a preset of defects or a file");
    ShotLamp out;
    out.defects = *o.defects;
    if (o.lamp) out.place = parse_lamp_place(*o.lamp);
    if (o.show) demand_one_of("--show", *o.show, {"before", "after", "half"});
    if (o.show) out.show = lamp_show(*o.show);
    return out;
}

} // namespace

void ShotOptions::add_to(CLI::App& command) {
    work.add_to(command);
    command.add_option("--out", out, "the PNG to write")->type_name("FILE.png")->required();
    command
        .add_option(
            "--map", map,
            "film_lost, clear_left, pressure_now, speed_now, contact_time, friction_work, temperature, "
            "peak_temperature or chance; lamp: marks under an inspection lamp")
        ->type_name("MAP")
        ->capture_default_str();
    command.add_option("--camera", camera, "corner, front, left, right, top or bottom")
        ->type_name("SIDE")
        ->capture_default_str();
    command.add_option("--size", size, "of the picture")->type_name("WxH")->capture_default_str();
    command.add_option("--at", at, "time into the run, such as \"42 s\"; without it the end")
        ->type_name("TIME");
    command.add_option("--nearer", nearer, "comes nearer to the pad, or to the worst spot")
        ->type_name("TIMES")
        ->capture_default_str();
    command
        .add_option("--defects", defects, "with --map lamp: what the panel was found with, preset or file")
        ->type_name("DEFECTS");
    command
        .add_option("--lamp", lamp,
                    "the lamp's place over the panel, \"400 mm, 300 mm, 500 mm\"; without it where it is "
                    "seen in the middle")
        ->type_name("U,V,HEIGHT");
    command.add_option("--show", show, "with --map lamp: before, after, or half of each beside a tape")
        ->type_name("before|after|half");
    command.add_option("--theme", theme, "light or dark; without it light, and dark under the lamp")
        ->type_name("light|dark");
    common.add_to(command);
}

int command_shot(ShotOptions& o) {
    o.common.check();
    demand_some("--out", o.out, "a PNG file to write");
    if (o.theme) demand_one_of("--theme", *o.theme, {"light", "dark"});
    ShotRequest shot;
    shot.lamp = asked_lamp(o);
    shot.run = o.work.request(o.common.grid_m);
    shot.map = o.map, shot.camera = o.camera;
    std::tie(shot.width_px, shot.height_px) = parse_shot_size(o.size);
    if (!o.at.empty()) {
        try {
            shot.at_s = parse_quantity(o.at, Dim::time);
        } catch (const std::invalid_argument& error) {
            throw InputError("", "--at", error.what(), "a time into the run, such as \"42 s\"");
        }
    }
    shot.light_theme = o.theme ? *o.theme == "light" : !shot.lamp; // a lamp is lit in the dark
    shot.unit = o.common.film_unit;
    shot.nearer = static_cast<float>(decimal("--nearer", o.nearer, 1, 20, "1 to 20"));
    write_shot(o.out, shot);
    std::cout << "Written      " << o.out << '\n';
    return 0;
}

} // namespace sparecoat::cli
