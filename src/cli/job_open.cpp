#include "cli/job_open.hpp"
#include "cli/usage.hpp"
#include "formats/nearest.hpp"
#include "units/error.hpp"
#include <algorithm>
#include <fmt/format.h>
#include <iostream>
#include <iterator>

namespace sparecoat::cli {

JobPanel panel_of(const JobFile& job, const JobOptions& o) {
    if (!o.panel) throw InputError("", "--panel", "nothing", "one of the job's panels");
    if (const auto panel = job.panel_named(*o.panel)) return *panel;
    std::vector<std::string> names;
    for (const JobPanel& panel : job.all<JobPanel>()) names.push_back(panel.name);
    if (names.empty())
        throw InputError("", "--panel", "\"" + *o.panel + "\"",
                         "one of the job's panels; it has none yet: \"job add-panel\"");
    throw InputError("", "--panel", "\"" + *o.panel + "\"", suggestion(*o.panel, names, "the job's panels"));
}

Visit visit_of(const JobFile& job, const JobOptions& o) {
    const std::vector<Visit> visits = job.all<Visit>();
    if (visits.empty())
        throw InputError(o.file, "", "no visit yet",
                         "one first: \"sparecoat job visit FILE --date 2026-03-14\"");
    if (!o.visit) return *job.last_visit();
    std::vector<Visit> meant;
    std::ranges::copy_if(visits, std::back_inserter(meant), [&](const Visit& v) {
        return v.date == *o.visit || v.label == *o.visit || v.date + " " + v.label == *o.visit;
    });
    if (meant.size() == 1) return meant.front();
    std::vector<std::string> names;
    for (const Visit& v : meant.empty() ? visits : meant)
        names.push_back(v.date + (v.label.empty() ? "" : " " + v.label));
    throw InputError("", "--visit",
                     fmt::format("\"{}\"{}", *o.visit, meant.empty() ? "" : ", which several visits go by"),
                     suggestion(*o.visit, names, "visits by date, label or both"));
}

JobFile open_job(const JobOptions& o, JobFile::Access access) {
    JobFile job = JobFile::open(o.file, access);
    if (job.backup())
        std::cerr << "sparecoat: the file was of an older version; as it was it is in "
                  << job.backup()->string() << '\n';
    return job;
}

JobFile open_to_read(const JobOptions& o) {
    try {
        return JobFile::open(o.file, JobFile::Access::read);
    } catch (const InputError&) {
        return open_job(o);
    }
}

FilmUnit film_unit(const std::string& unit) {
    demand_one_of("--unit", unit, {"um", "mil"});
    return unit == "mil" ? FilmUnit::mil : FilmUnit::um;
}

std::string name_of(const Visit& visit) {
    return visit.date + (visit.label.empty() ? "" : " " + visit.label);
}

} // namespace sparecoat::cli
