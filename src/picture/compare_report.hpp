#pragma once
#include "picture/document/document.hpp"
#include "picture/heatmap.hpp"
#include "study/compare.hpp"
#include <filesystem>
#include <string>
#include <vector>

namespace sparecoat::picture {

/// The report as pages to print: what was compared, what it came to, maps side by side, differences, charts,
/// doubts and cautions. Text in it is text. @throws InputError if the file cannot be written.
void write_report_pdf(const std::filesystem::path& file, const Comparison& comparison, FilmUnit unit,
                      PaperSize paper_size);

/// The same as one page of HTML that needs nothing beside it: pictures inline, no script, well-formed as XML.
std::string report_html(const Comparison& comparison, FilmUnit unit,
                        const std::vector<document::Image>& pictures);

} // namespace sparecoat::picture
