#pragma once
#include "picture/document/document.hpp"
#include "picture/sheet.hpp"
#include "picture/sheet/facts.hpp"
#include <string>
#include <vector>

namespace sparecoat::picture::sheet {

using document::Blanks;
using document::Column;
using document::Facts;
using document::Items;
using document::Paragraph;
using document::Picture;
using document::Section;
using document::Table;

/// The sheet for its reader. @throws InputError for a logo that cannot be read.
document::Document sheet_of(const SheetFacts& facts, const SheetTerms& terms);

// Its parts.
std::vector<Section> bench_sections(const SheetFacts& facts, FilmUnit unit);
std::vector<Section> customer_sections(const SheetFacts& facts, FilmUnit unit);
/// A row for each panel and, for the bench, each of its steps and readings (docs/output.md).
Table rows_of(const SheetFacts& facts, const SheetTerms& terms);

// What both readers are told.

/// Film without its unit: "4.83".
std::string bare_film(double um, FilmUnit unit);
/// "2026-03-14, spring".
std::string visit_text(const Visit& visit);
/// "wash swirls, scratches": what a panel was found with; chips apart.
std::string marks_text(const Defects& defects);
/// "105.40 µm on average, from 98.00 to 112.00 µm, at 12 spots"; empty where nothing was read.
std::string film_read_text(const SheetPanel& panel, bool after_work, bool of_clear, FilmUnit unit);
/// Whether anything is done to the panel by its plan.
bool has_steps(const SheetPanel& panel);
/// Clear coat that the plan takes on open ground; of a panel that was worked already, nothing: that is
/// measured.
std::optional<double> planned_um(const SheetPanel& panel);
/// "7.21 ± 0.51 µm of the allowance of 9.00 µm", with what came of going over it.
std::string left_text(const FilmSum& spent, double allowance_um, FilmUnit unit);
/// Film over visits; no rows where nothing was done.
Table history_table(const SheetPanel& panel, double allowance_um, FilmUnit unit);

} // namespace sparecoat::picture::sheet
