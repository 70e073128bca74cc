#include "picture/sheet.hpp"
#include "formats/whole_file.hpp"
#include "picture/sheet/content.hpp"
#include "picture/sheet/writers.hpp"
#include "units/error.hpp"
#include "units/text.hpp"

namespace sparecoat::picture {

namespace sheet {

std::string printable(const std::string& text) {
    std::string out = valid_utf8(text);
    for (char& c : out)
        if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) c = ' ';
    return out;
}

} // namespace sheet

SheetFormat sheet_format(const std::filesystem::path& file) {
    const std::string ending = lower_extension(file.string());
    if (ending == ".pdf") return SheetFormat::pdf;
    if (ending == ".html") return SheetFormat::html;
    if (ending == ".csv") return SheetFormat::csv;
    throw InputError(file.string(), "",
                     ending.empty() ? "a file name without an ending" : "\"" + ending + "\"",
                     "a sheet that ends in .pdf, .html or .csv");
}

void write_sheet(const std::filesystem::path& file, const JobFile& job, const Visit& visit,
                 const SheetTerms& terms) {
    const SheetFormat format = sheet_format(file);
    const sheet::Sheet made = sheet::sheet_of(sheet::gather(job, visit), terms);
    write_whole(file, format == SheetFormat::pdf    ? sheet::pdf_of(made, terms.page)
                      : format == SheetFormat::html ? sheet::html_of(made)
                                                    : sheet::csv_of(made));
}

} // namespace sparecoat::picture
