#include "picture/plan_figures.hpp"
#include "picture/section_words.hpp"

namespace sparecoat::picture {

std::string sum_text(const FilmSum& sum, FilmUnit unit) { return film_error_text(sum.um, sum.sd_um, unit); }

} // namespace sparecoat::picture
