#pragma once
#include "library/shop.hpp"
#include "picture/canvas.hpp"
#include "picture/heatmap.hpp"
#include "vehicle/job_file.hpp"
#include <filesystem>

namespace sparecoat::picture {

/// Whom a job sheet is for: whoever does the work, with every setting; or whose vehicle it is, in plain
/// words.
enum class SheetFor { bench, customer };

struct SheetTerms {
    SheetFor reader = SheetFor::bench;
    PaperSize page = PaperSize::a4; ///< of a PDF
    FilmUnit unit = FilmUnit::um;
    Shop shop = {}; ///< stands over the first page; without a name nothing does
};

enum class SheetFormat { pdf, html, csv };
/// By a file's ending. @throws InputError for another ending.
SheetFormat sheet_format(const std::filesystem::path& file);

/// Writes the sheet of one visit from what the job file holds; nothing is planned anew, and a visit without a
/// plan gives a sheet of what there is. The file shows up whole or not at all, and takes the place of one of
/// its name. The same job gives the same bytes.
/// @throws InputError: another ending, a logo that is no PNG to be read, a kept plan that is none of ours, a
/// file that cannot be written.
void write_sheet(const std::filesystem::path& file, const JobFile& job, const Visit& visit,
                 const SheetTerms& terms);

} // namespace sparecoat::picture
