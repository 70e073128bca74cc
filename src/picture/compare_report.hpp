#pragma once
#include "picture/heatmap.hpp"
#include "study/compare.hpp"
#include <filesystem>
#include <string>
#include <vector>

namespace sparecoat::picture {

enum class Sheet { a4, letter };

/// The report as pages to print: what was compared, what it came to, maps side by side, differences, charts,
/// doubts and cautions. Text in it is text. @throws InputError if the file cannot be written.
void write_report_pdf(const std::filesystem::path& file, const Comparison& comparison, FilmUnit unit,
                      Sheet sheet);

/// A picture of a page, its bytes those of a file.
struct InlinePicture {
    std::string title, media_type, bytes;
};

/// The same as one page of HTML that needs nothing beside it: pictures inline, no script, well-formed as XML.
std::string report_html(const Comparison& comparison, FilmUnit unit,
                        const std::vector<InlinePicture>& pictures);

/// Text as HTML has it: & < > " ' escaped, bytes that are no UTF-8 replaced, and control characters left out.
std::string html_text(std::string_view text);

} // namespace sparecoat::picture
