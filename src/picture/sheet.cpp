#include "picture/sheet.hpp"
#include "formats/whole_file.hpp"
#include "picture/sheet/content.hpp"
#include "picture/sheet/look.hpp"
#include "units/error.hpp"
#include "units/text.hpp"

namespace sparecoat::picture {

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
    const document::Document made = sheet::sheet_of(sheet::gather(job, visit), terms);
    write_whole(file, format == SheetFormat::pdf    ? document::pdf_of(made, terms.page, sheet::pdf_look())
                      : format == SheetFormat::html ? document::html_of(made, sheet::html_look())
                                                    : document::csv_of(made.rows));
}

} // namespace sparecoat::picture
