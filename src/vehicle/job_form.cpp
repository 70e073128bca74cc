// Everything a job's JSON may hold.
#include "formats/form.hpp"
#include "vehicle/job_json.hpp"

namespace sparecoat::vehicle {

using namespace form;

namespace {

constexpr int at_least_one = 1;

FormPtr gauge_form() {
    const FormPtr film = quantity(Dim::length, "5 µm", "2000 µm");
    const FormPtr number_of_readings = whole(1, 1000);
    return object({
        needed("before", film, "mean before the work, of the total or of the clear coat"),
        needed("n_before", number_of_readings, "readings behind it"),
        needed("after", film, "mean after it, on the same marked spots"),
        needed("n_after", number_of_readings, "readings behind it"),
        needed("repeatability", quantity(Dim::length, "0.001 µm", "50 µm"),
               "standard deviation of one reading on one spot"),
    });
}

FormPtr reading_form() {
    const FormPtr film = quantity(Dim::length, "0.01 µm", "2000 µm");
    return object(
        {
            needed("when", choice({"before", "after"}), "the visit's work"),
            needed("at", point("-10 m", "10 m"), "in the unrolled panel"),
            optional("total", film, nullptr, "film read there, of all layers"),
            optional("clear", film, nullptr, "or of the clear coat alone"),
            optional("n", whole(1, 1000), 1, "how often it was read; the film is the mean"),
            optional("repeatability", quantity(Dim::length, "0.001 µm", "50 µm"), "1 µm",
                     "standard deviation of one reading"),
        },
        {"total", "clear"});
}

FormPtr square_form() {
    return object({
        needed("at", point("-10 m", "10 m"), "its middle"),
        needed("size", point("20 mm", "4 m"), "along u and v"),
        optional("note", text("text"), nullptr, "anything"),
        optional(
            "tries",
            list(object({
                     needed("step", text("a step of the kit"), "machine+pad+liquid, as the kit names them"),
                     optional("sets", whole(1, 20), 1, "of it"),
                     optional("seen", text("text"), nullptr,
                              "share cleared under the lamp: \"90 %\", or a word"),
                     optional("gauge", gauge_form(), nullptr, "what the film gauge read"),
                     optional("note", text("text"), nullptr, "anything"),
                 }),
                 at_least_one),
            nullptr, "what was done there, one after the other"),
    });
}

FormPtr work_form() {
    return object({
        optional("done", text("text"), nullptr, "what was done, in words"),
        optional("gauge", gauge_form(), nullptr, "the film that it cost, as the gauge says"),
        optional("predicted",
                 object({
                     needed("loss", quantity(Dim::length, "0 µm", "2000 µm"), "mean of the panel"),
                     needed("sd", quantity(Dim::length, "0 µm", "2000 µm"), "its standard deviation"),
                 }),
                 nullptr, "and as the model says"),
    });
}

FormPtr run_form() {
    const FormPtr loss = quantity(Dim::length, "0 µm", "2000 µm");
    return object({
        optional("label", text("text"), nullptr, "what was simulated"),
        needed("made", text("a time such as 2026-03-14T09:30:00Z"), "when"),
        needed("inputs", text("64 hexadecimal digits"), "SHA-256 of all that it was made from"),
        needed("lost",
               object({
                   needed("mean", loss, "over the panel"),
                   needed("median", loss, "over the panel"),
                   needed("worst", loss, "anywhere"),
               }),
               "clear coat"),
        needed("summary", any("a run's summary"), "docs/schema/summary.schema.json"),
    });
}

FormPtr panel_visit_form() {
    return object({
        needed("panel", text("name"), "one of the job's panels"),
        optional("clean", flag(), false, "washed and decontaminated"),
        optional("defects", text("name"), nullptr, "of a document of kind defects: what it was found with"),
        optional("note", text("text"), nullptr, "anything"),
        optional("readings", list(reading_form(), at_least_one), nullptr, "film read with a gauge"),
        optional("squares", list(square_form(), at_least_one), nullptr, "taped test sections"),
        optional("plan", any("a plan"), nullptr, "steps, sets, hold-backs, tape"),
        optional("work", work_form(), nullptr, "what was done"),
        optional("runs", list(run_form(), at_least_one), nullptr, "simulations"),
    });
}

std::vector<Field> remarks(const std::string& on) {
    const Field panel =
        optional("panel", text("name"), nullptr, "one of the job's panels, where it is on one");
    return {
        optional("photos",
                 list(object({
                          panel,
                          needed("path", text("path"), "of the picture, from the job file's folder"),
                          optional("caption", text("text"), nullptr, "what it shows"),
                          optional("hash", text("64 hexadecimal digits"), nullptr, "SHA-256 of the picture"),
                      }),
                      at_least_one),
                 nullptr, "pictures " + on),
        optional("notes", list(object({panel, needed("text", text("text"), "anything")}), at_least_one),
                 nullptr, "remarks " + on),
    };
}

std::vector<Field> joined(std::vector<Field> fields, const std::vector<Field>& more) {
    fields.insert(fields.end(), more.begin(), more.end());
    return fields;
}

FormPtr make_job_form() {
    return object(joined(
        {
            optional("$schema", text("path or address"), nullptr,
                     "for editors that complete and check by schema; not used"),
            needed("kind", choice({"job"}), "what the file describes"),
            needed("name", text("text"), "of the vehicle"),
            optional("description", text("text"), nullptr, "of the vehicle"),
            optional("note", text("text"), nullptr, "anything"),
            optional("kit", text("name"), nullptr, "of a document of kind kit: what the shop works with"),
            optional(
                "target",
                object({
                    needed("share", quantity(Dim::none, "10 %", "99.9 %"),
                           "of the marks to be cleared, chips apart"),
                    needed("haze", number("", 0.05, 50), "most, of the steps' own marks"),
                    needed("chance", quantity(Dim::none, "50 %", "99.9 %"), "of reaching both"),
                    needed("reserve", quantity(Dim::length, "0 µm", "200 µm"), "clear coat that has to stay"),
                    needed("keep_chance", quantity(Dim::none, "50 %", "99.99 %"), "of its staying"),
                }),
                nullptr, "what is wanted"),
            optional(
                "allowance", quantity(Dim::length, "0 µm", "200 µm"), "10 µm",
                "clear coat that may go over the vehicle's life; 7 to 12 µm, common practice, no source"),
            optional(
                "documents",
                list(object({
                         needed("kind",
                                choice({"machine", "pad", "liquid", "paint", "substrate", "panel",
                                        "technique", "defects", "kit", "file"}),
                                "of preset, or a file that a panel names"),
                         needed("reference", text("name"), "what others call it by; a pad without its size"),
                         needed("body", any("a preset, or a file's bytes in base64"), "docs/formats.md"),
                     }),
                     at_least_one),
                nullptr, "the presets that the job was made with"),
            optional("panels",
                     list(object({
                              needed("name", text("name"), "of its own in this vehicle"),
                              needed("shape", text("name"), "of a document of kind panel"),
                              needed("paint", text("name"), "of a document of kind paint"),
                              optional("note", text("text"), nullptr, "anything"),
                          }),
                          at_least_one),
                     nullptr, "of the vehicle, in their order"),
            optional("visits",
                     list(object(joined(
                              {
                                  needed("date", text("a date such as 2026-03-14"), "its first day"),
                                  optional("label", text("text"), nullptr,
                                           "its name; two of one day need different ones"),
                                  optional("note", text("text"), nullptr, "anything"),
                                  optional("plan", any("a plan"), nullptr,
                                           "docs/schema/visit-plan.schema.json; the panels' stand with them"),
                                  optional("panels", list(panel_visit_form(), at_least_one), nullptr,
                                           "what was seen and done, each panel once"),
                              },
                              remarks("of the visit"))),
                          at_least_one),
                     nullptr, "to the shop"),
        },
        remarks("of no visit")));
}

} // namespace

const Form& job_form() {
    static const FormPtr made = make_job_form();
    return *made;
}

std::string job_schema_text() { return schema_of(std::get<ObjectForm>(job_form().is), "Sparecoat job"); }
std::string job_format_table() { return markdown_of(std::get<ObjectForm>(job_form().is)); }

} // namespace sparecoat::vehicle
