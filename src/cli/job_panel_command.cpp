#include "cli/job_panel_command.hpp"
#include "cli/job_open.hpp"
#include "cli/usage.hpp"
#include "units/error.hpp"
#include "vehicle/job_panels.hpp"
#include <fmt/format.h>
#include <iostream>

namespace sparecoat::cli {

int job_add_panel(JobOptions& o) {
    demand_some("--name", o.name, "what the panel is called on this vehicle");
    JobFile job = open_job(o);
    if (job.panel_named(o.name))
        throw InputError("", "--name", "\"" + o.name + "\", which the job has", "a name of its own");
    JobPanel panel;
    panel.name = o.name, panel.note = o.note;
    job.edit("the " + o.name,
             [&] { panel = add_panel(job, Library::standard(), panel, o.panel.value_or(""), o.paint); });
    std::cout << fmt::format("Panel        {}, {} with {} paint\n", o.name, *o.panel, o.paint);
    return 0;
}

int job_edit_panel(JobOptions& o) {
    if (!o.new_name && !o.new_shape && !o.new_paint && !o.new_note)
        throw InputError("", "edit-panel", "nothing to change", "--name, --shape, --paint or --note");
    JobFile job = open_job(o);
    const JobPanel panel = panel_of(job, o);
    JobPanel now;
    job.edit(fmt::format("the {} changed", panel.name), [&] {
        now =
            change_panel(job, Library::standard(), panel, {o.new_name, o.new_shape, o.new_paint, o.new_note});
    });
    const auto reference = [&](Id document) { return job.get<Document>(document).reference; };
    std::cout << fmt::format("Panel        {}, {} with {} paint{}\n", now.name, reference(now.shape),
                             reference(now.paint), now == panel ? "; it was so already" : "");
    if (now.shape != panel.shape || now.paint != panel.paint)
        std::cout << "             its plan, if it had one, is dropped: \"job plan\" makes it anew\n";
    return 0;
}

int job_remove_panel(JobOptions& o) {
    JobFile job = open_job(o);
    const JobPanel panel = panel_of(job, o);
    const std::string with = hanging_on(job, panel);
    job.edit(fmt::format("the {} removed", panel.name), [&] { job.remove<JobPanel>(panel.id); });
    std::cout << fmt::format("Removed      {}{}; \"job undo\" puts it back\n", panel.name,
                             with.empty() ? "" : ", with " + with);
    return 0;
}

} // namespace sparecoat::cli
