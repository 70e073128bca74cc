#pragma once
#include "picture/sheet.hpp"
#include "picture/sheet/document.hpp"
#include <string>

namespace sparecoat::picture::sheet {

/// Pages of a size with numbers; headings stay with what they head, tables break between rows and repeat
/// their heads.
std::string pdf_of(const Sheet& sheet, SheetPage page);
/// One page for a browser that needs nothing else: pictures lie within, no scripts, no links.
std::string html_of(const Sheet& sheet);
/// RFC 4180 with a head row; UTF-8.
std::string csv_of(const Sheet& sheet);

/// On one line and without what no printed page or XML can hold: control characters become blanks.
std::string printable(const std::string& text);

} // namespace sparecoat::picture::sheet
