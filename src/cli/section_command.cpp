#include "cli/section_command.hpp"
#include "cli/interrupt.hpp"
#include "cli/progress.hpp"
#include "cli/section_text.hpp"
#include "cli/usage.hpp"
#include "cli/verdict_text.hpp"
#include "formats/output_folder.hpp"
#include "formats/reader.hpp"
#include "formats/reference.hpp"
#include "picture/section_folder.hpp"
#include "picture/section_words.hpp"
#include "plan/section.hpp"
#include "units/error.hpp"
#include "units/quantity.hpp"
#include <CLI/CLI.hpp>
#include <algorithm>
#include <fmt/format.h>
#include <iostream>
#include <nlohmann/json.hpp>

namespace sparecoat::cli {

namespace fs = std::filesystem;

namespace {

// ---- values of options ----------------------------------------------------------------------------

FilmUnit film_unit(const std::string& unit) {
    demand_one_of("--unit", unit, {"um", "mil"});
    return unit == "mil" ? FilmUnit::mil : FilmUnit::um;
}

/// "290 mm, 300 mm".
Point2 two_lengths(const std::string& option, const std::string& text, double least_m, double most_m,
                   const char* allowed) {
    const auto comma = text.find(',');
    const auto one = [&](const std::string& part) {
        const double metres = parse_quantity(part, Dim::length);
        if (metres < least_m || metres > most_m) throw std::invalid_argument("\"" + text + "\"");
        return metres;
    };
    try {
        if (comma == std::string::npos) throw std::invalid_argument("\"" + text + "\"");
        return {one(text.substr(0, comma)), one(text.substr(comma + 1))};
    } catch (const std::invalid_argument& error) {
        throw InputError("", option, error.what(), allowed);
    }
}

std::optional<TapedSquare> square_of(const std::optional<std::string>& at,
                                     const std::optional<std::string>& size) {
    if (!at) {
        if (size)
            throw InputError("", "--size", "a size without a place",
                             "--square beside it, with the square's middle");
        return std::nullopt;
    }
    TapedSquare square;
    square.at = two_lengths("--square", *at, -10, 10,
                            "the square's middle as two lengths, such as \"290 mm, 300 mm\"");
    if (size)
        square.size = two_lengths("--size", *size, 0.02, 4,
                                  "width and height of 20 mm to 4 m, such as \"400 mm, 400 mm\"");
    return square;
}

int readings(const std::string& option, const std::string& text) {
    const auto number = static_cast<int>(whole_number(option, text, 1000));
    if (number < 1) throw InputError("", option, text, "a number of readings, 1 to 1000");
    return number;
}

SectionReport advise_showing_progress(const SectionRecord& record, const std::string& panel, int threads) {
    ProgressLine line;
    return advise_on(Library::standard(), record, panel, threads, [&](double share) {
        line.tell(share);
        return noted_signal() == 0;
    });
}

void print_json(const nlohmann::json& document) {
    std::cout << document.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) << '\n';
}

// ---- predict --------------------------------------------------------------------------------------

int command_predict(const PredictOptions& o) {
    const FilmUnit unit = film_unit(o.unit);
    const int threads = o.threads.count();
    SectionRecord record;
    record.name = o.panel, record.kit = o.kit;
    o.target.apply(record.target);
    RecordedPanel panel;
    panel.panel = o.panel, panel.paint = o.paint, panel.defects = o.defects, panel.clean = true;
    if (o.readings) demand_some("--readings", *o.readings, "gauge readings as CSV");
    panel.readings = o.readings;
    record.panels.push_back(std::move(panel));
    const SectionReport report = advise_showing_progress(record, "", threads);
    stop_if_asked();
    if (o.json) print_json(advice_json(report));
    else std::cout << predict_text(report, unit) << cautions_text();
    return 0;
}

// ---- record ---------------------------------------------------------------------------------------

void refuse_without(const std::optional<std::string>& given, const char* option, const char* needs) {
    if (given)
        throw InputError("", option, fmt::format("{} without {}", option, needs),
                         fmt::format("{} beside it", needs));
}

/// The square's earlier reading, untouched: the mean before is the same for all of its tries.
std::optional<GaugePair> untouched(const SectionRecord* on_file, const std::string& panel) {
    if (on_file == nullptr) return std::nullopt;
    for (const RecordedPanel& entry : on_file->panels) {
        if (entry.panel != panel || entry.squares.empty()) continue;
        for (const Try& work : entry.squares.back().tries)
            if (work.gauge) return work.gauge;
    }
    return std::nullopt;
}

std::optional<GaugePair> gauge_of(const RecordOptions& o, const Kit& kit,
                                  const std::optional<GaugePair>& earlier) {
    const char* const allowed = "a film of 5 to 2000 µm, such as \"112.4 um\" or \"4.43 mil\"";
    if (!o.after) {
        refuse_without(o.before, "--before", "--after");
        for (const auto& [number, option] :
             {std::pair{&o.n, "--n"}, {&o.n_before, "--n-before"}, {&o.n_after, "--n-after"}})
            refuse_without(*number, option, "--after");
        return std::nullopt;
    }
    GaugePair gauge;
    if (kit.gauge) gauge.repeat_sd_um = kit.gauge->repeat_sd_um;
    if (o.n) gauge.n_before = gauge.n_after = readings("--n", *o.n);
    gauge.after_um = film_um("--after", *o.after, 5, 2000, allowed);
    if (o.before) {
        gauge.before_um = film_um("--before", *o.before, 5, 2000, allowed);
    } else if (earlier) {
        gauge.before_um = earlier->before_um, gauge.n_before = earlier->n_before;
    } else {
        throw InputError("", "--after", "a mean after without one before",
                         "--before beside it, of the untouched square");
    }
    if (o.n_before) gauge.n_before = readings("--n-before", *o.n_before);
    if (o.n_after) gauge.n_after = readings("--n-after", *o.n_after);
    return gauge;
}

Try try_of(const RecordOptions& o, const std::vector<KitStep>& steps, const std::optional<GaugePair>& gauge) {
    Try work;
    work.step = step_named(steps, *o.step).id;
    if (o.sets) {
        work.sets = static_cast<int>(whole_number("--sets", *o.sets, 20));
        if (work.sets < 1) throw InputError("", "--sets", *o.sets, "1 to 20 sets");
    }
    work.seen = o.seen, work.gauge = gauge, work.note = o.note.value_or("");
    return work;
}

void demand_seen(const std::string& seen) {
    try {
        seen_share(seen);
    } catch (const InputError& error) {
        throw InputError("", "--seen", error.found(), error.allowed());
    }
}

/// What a person named from where they are, as the file beside them is to hold it.
class Filing {
public:
    explicit Filing(const fs::path& file) : folder_(file.parent_path()) {}
    std::string operator()(const std::string& reference) const { return reference_from(folder_, reference); }
    std::optional<std::string> operator()(const std::optional<std::string>& reference) const {
        return reference ? std::optional(reference_from(folder_, *reference)) : std::nullopt;
    }
    /// A file that is never an id.
    std::optional<std::string> path(const std::optional<std::string>& file) const {
        if (!file) return std::nullopt;
        return path_from(folder_, *file);
    }

private:
    fs::path folder_;
};

/// Where no square is taped yet and none is named, work goes to the usual one, which is then on file.
TapedSquare square_for_work(const RecordOptions& o) {
    RunRequest request;
    request.panel = o.panel;
    request.grid_m = 0.004;
    if (o.paint) request.paint = *o.paint;
    return usual_square(lay_panel(Library::standard(), request).panel);
}

SectionRecord record_of(const nlohmann::ordered_json& document, const std::string& file) {
    return read_record(parse_json(document.dump(), file), file);
}

/// A record as it is to be gone on with: its JSON, and what stood in its file, where there was one.
struct RecordInHand {
    nlohmann::ordered_json document;
    std::optional<SectionRecord> on_file;
};

RecordInHand record_in_hand(const RecordOptions& o, const Filing& filed) {
    if (!fs::exists(o.file)) {
        Target target;
        o.target.apply(target);
        return {new_record(o.name.value_or(fs::path(o.file).stem().string()),
                           filed(o.kit.value_or("workshop")), target),
                std::nullopt};
    }
    nlohmann::ordered_json document = load_record_json(o.file);
    SectionRecord on_file = record_of(document, o.file);
    for (const auto& [given, option, key] : {std::tuple{o.kit, "--kit", "kit"}, {o.name, "--name", "name"}})
        if (given && document[key] != (std::string(key) == "kit" ? filed(*given) : *given))
            throw InputError("", option,
                             fmt::format("\"{}\" for a file that has {}", *given, document[key].dump()),
                             "what the file has, or a new file");
    if (o.target.any()) {
        Target target = on_file.target;
        o.target.apply(target);
        document["target"] = new_record("", "", target)["target"];
    }
    return {std::move(document), std::move(on_file)};
}

int command_record(const RecordOptions& o) {
    const FilmUnit unit = film_unit(o.unit);
    const Library library = Library::standard();
    if (o.file.empty()) throw InputError("", "FILE", "nothing", "the record's file");
    if (o.clean && o.not_clean) throw InputError("", "--not-clean", "--clean as well", "one of the two");
    if (o.readings) demand_some("--readings", *o.readings, "gauge readings as CSV");
    if (!o.step) {
        refuse_without(o.sets, "--sets", "--step");
        refuse_without(o.note, "--note", "--step");
    }
    if (o.seen) demand_seen(*o.seen);

    const Filing filed(o.file);
    auto [document, on_file] = record_in_hand(o, filed);
    const fs::path folder = fs::path(o.file).parent_path();
    const std::string kit_reference = document["kit"].get<std::string>();
    const Kit kit = library.kit(is_path(kit_reference) ? (folder / kit_reference).string() : kit_reference);
    const std::vector<KitStep> steps = steps_of(library, kit);

    RecordEntry entry;
    entry.panel = filed(o.panel);
    entry.paint = filed(o.paint), entry.defects = filed(o.defects), entry.readings = filed.path(o.readings);
    if (o.clean || o.not_clean) entry.clean = o.clean;
    entry.square = square_of(o.square, o.size);
    entry.correct = o.correct;
    const std::string panel = is_path(entry.panel) ? (folder / entry.panel).string() : entry.panel;
    const RecordedPanel* entered = nullptr;
    if (on_file)
        for (const RecordedPanel& p : on_file->panels)
            if (p.panel == panel) entered = &p;
    if (o.step && !entry.square && (entered == nullptr || entered->squares.empty()))
        entry.square = square_for_work(o);
    const std::optional<GaugePair> gauge =
        gauge_of(o, kit, entry.square ? std::nullopt : untouched(on_file ? &*on_file : nullptr, panel));
    if (o.step) entry.work = try_of(o, steps, gauge);
    else entry.seen = o.seen, entry.gauge = gauge;

    enter(document, entry);
    SectionRecord record = record_of(document, o.file);
    hold_to_library(library, record);
    save_record(o.file, document);

    std::string done = entry.work
                           ? try_words(*entry.work, step_named(steps, entry.work->step).words, unit)
                           : std::string(entry.seen || entry.gauge ? "a look at the last try" : "the panel");
    if (entry.square)
        done = fmt::format("a taped square of {}{}{}", square_text(*entry.square), entry.work ? "; " : "",
                           entry.work ? done : "");
    std::cout << fmt::format("Entered      {}: {}{}\n", o.panel, done,
                             entry.clean ? (*entry.clean ? "; washed and decontaminated" : "; not clean")
                                         : "")
              << record_text(record, steps, unit)
              << fmt::format("Next         sparecoat section advise {}\n", o.file);
    return 0;
}

// ---- advise ---------------------------------------------------------------------------------------

/// A panel as the record has it, by its id or by a path from here.
std::string panel_on_file(const SectionRecord& record, const std::string& panel) {
    const auto settled = [](const std::string& path) { return fs::weakly_canonical(fs::absolute(path)); };
    for (const RecordedPanel& entry : record.panels)
        if (is_path(panel) && is_path(entry.panel) && settled(panel) == settled(entry.panel))
            return entry.panel;
    return panel;
}

int command_advise(const AdviseOptions& o) {
    const FilmUnit unit = film_unit(o.unit);
    const int threads = o.threads.count();
    if (o.panel) demand_some("--panel", *o.panel, "a panel of the record");
    if (o.brief && o.json) throw InputError("", "--brief", "--brief and --json", "one of them");
    if (o.out) demand_some("--out", *o.out, "a folder to write to");
    const SectionRecord record = load_record(o.file);
    // A target that may not be replaced is refused before the work, not after it.
    std::optional<OutputFolder> folder;
    if (o.out) folder.emplace(*o.out);
    const SectionReport report =
        advise_showing_progress(record, o.panel ? panel_on_file(record, *o.panel) : std::string(), threads);
    const nlohmann::json document =
        folder ? write_section(folder->path(), report, unit) : advice_json(report);
    stop_if_asked();
    if (folder) folder->commit();
    if (o.json) {
        print_json(document);
    } else if (o.brief) {
        std::cout << brief_advice_text(report, unit);
    } else {
        std::cout << advice_text(report, unit);
        if (folder) std::cout << "Written      " << folder->target().string() << '\n';
        std::cout << cautions_text();
    }
    return 0;
}

void add_unit(CLI::App& command, std::string& unit) {
    command.add_option("--unit", unit, "film thickness in um or mil")
        ->type_name("um|mil")
        ->capture_default_str();
}

} // namespace

void TargetOptions::add_to(CLI::App& command) {
    command.add_option("--share", share, "of the marks to be cleared, chips apart (95 %)")
        ->type_name("SHARE");
    command
        .add_option("--finish", finish,
                    "good: what a polish leaves; full: what a finishing polish leaves (good)")
        ->type_name("good|full");
    command.add_option("--chance", chance, "of reaching both (80 %)")->type_name("CHANCE");
    command.add_option("--reserve", reserve, "clear coat that has to stay (15 um)")->type_name("LENGTH");
    command.add_option("--keep", keep, "chance of its staying (95 %)")->type_name("CHANCE");
}

void TargetOptions::apply(Target& target) const {
    if (share) target.share = decimal("--share", *share, 0.1, 0.999, "a share from 10 % to 99.9 %");
    if (finish) {
        demand_one_of("--finish", *finish, {"good", "full"});
        target.haze = *finish == "full" ? full_finish_haze : good_finish_haze;
    }
    if (chance) target.chance = decimal("--chance", *chance, 0.5, 0.999, "a chance from 50 % to 99.9 %");
    if (reserve)
        target.reserve_um = film_um("--reserve", *reserve, 0, 200,
                                    "a thickness of 0 to 200 µm, such as \"15 um\" or \"0.6 mil\"");
    if (keep) target.keep_chance = decimal("--keep", *keep, 0.5, 0.9999, "a chance from 50 % to 99.99 %");
}

void PredictOptions::add_to(CLI::App& command) {
    command
        .add_option("--panel", panel,
                    "panel preset, a panel JSON, OBJ or STL file, or a plate such as \"1200x800 mm\"")
        ->type_name("PANEL")
        ->required();
    command.add_option("--paint", paint, "paint preset or file")->type_name("PAINT")->capture_default_str();
    command.add_option("--defects", defects, "defects preset or file")
        ->type_name("DEFECTS")
        ->capture_default_str();
    command.add_option("--kit", kit, "kit preset or file")->type_name("KIT")->capture_default_str();
    command
        .add_option("--readings", readings,
                    "gauge readings of this panel instead of the paint's nominal film")
        ->type_name("CSV");
    target.add_to(command);
    command.add_flag("--json", json, "print the prediction as JSON");
    add_unit(command, unit);
    threads.add_to(command);
}

void RecordOptions::add_to(CLI::App& command) {
    const auto option = [&](const char* flag, std::optional<std::string>& value, const char* type,
                            const char* help) { command.add_option(flag, value, help)->type_name(type); };
    command.add_option("file", file, "the record: a new file, or one to add to")
        ->type_name("FILE")
        ->required();
    command.add_option("--panel", panel, "panel that it is about")->type_name("PANEL")->required();
    option("--kit", kit, "KIT", "of a new file (workshop)");
    option("--name", name, "NAME", "of the vehicle, for a new file");
    option("--paint", paint, "PAINT", "of the panel");
    option("--defects", defects, "DEFECTS", "that it was found with");
    option("--readings", readings, "CSV", "gauge readings of the panel");
    command.add_flag("--clean", clean, "the panel was washed and decontaminated");
    command.add_flag("--not-clean", not_clean, "it was not");
    option("--square", square, "\"U, V\"", "middle of a new taped square");
    option("--size", size, "\"W, H\"", "of the square (400 mm, 400 mm)");
    option("--step", step, "STEP", "done on the last square: machine+pad+liquid, as the kit names them");
    option("--sets", sets, "NUMBER", "of the step (1)");
    option("--seen", seen, "SHARE", "cleared under the lamp so far: a number such as \"90 %\", or a word");
    option("--before", before, "LENGTH", "gauge mean on the untouched square; once for all of its tries");
    option("--after", after, "LENGTH", "gauge mean now, on the same marked spots");
    option("--n", n, "NUMBER", "readings behind each mean (1)");
    option("--n-before", n_before, "NUMBER", "readings before");
    option("--n-after", n_after, "NUMBER", "readings after");
    option("--note", note, "TEXT", "anything, kept with the step");
    command.add_flag("--correct", correct, "a look without --step takes the place of the last try's");
    target.add_to(command);
    add_unit(command, unit);
}

void AdviseOptions::add_to(CLI::App& command) {
    command.add_option("file", file, "the record")->type_name("FILE")->required();
    command.add_option("--panel", panel, "one panel of it; without it all")->type_name("PANEL");
    command.add_option("--out", out, "folder for advice.json and a chart of each panel")->type_name("FOLDER");
    command.add_flag("--json", json, "print the advice as JSON");
    command.add_flag("--brief", brief, "a sentence a panel: the next step, its minutes, what to expect");
    add_unit(command, unit);
    threads.add_to(command);
}

void SectionOptions::add_to(CLI::App& command) {
    command.require_subcommand(1);
    predict.add_to(
        *command.add_subcommand("predict", "What a kit's sequences are expected to do, before any section"));
    record.add_to(
        *command.add_subcommand("record", "Put what was done and seen on a taped square into a file"));
    advise.add_to(*command.add_subcommand("advise", "What to do next, from all that is on file"));
}

int command_section(const CLI::App& command, const SectionOptions& options) {
    if (command.got_subcommand("predict")) return command_predict(options.predict);
    if (command.got_subcommand("record")) return command_record(options.record);
    return command_advise(options.advise);
}

} // namespace sparecoat::cli
