#pragma once
#include "picture/document/writers.hpp"

namespace sparecoat::picture::sheet {

/// How a job's sheet is printed, and how a browser shows it.
const document::PdfLook& pdf_look();
const document::HtmlLook& html_look();

} // namespace sparecoat::picture::sheet
