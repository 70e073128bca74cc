#pragma once
#include "rooms.hpp"
#include <string>

namespace sparecoat::units {

// A share or a chance, 0 to 1, in per cent. Which of these is right depends on what must not be rounded away.

/// "97 %", whole.
std::string whole_percent(double share);

/// "86 %", "99.4 %": a decimal more over 99 %, so that nothing short of all is rounded to "100 %".
std::string percent_finer_near_all(double share);

/// "0.3 %", "12 %", "under 0.1 %": a chance that is to be small, with a decimal under 10 %.
std::string percent_finer_near_none(double chance);

/// "under 1 %", "60 %", "over 99 %": neither none nor all is ever said of what is only believed.
std::string percent_never_sure(double chance);

/// Of a hundred, whole and without a sign: "97". Short of all it is 99 at the most.
std::string of_hundred(double share);

/// As it was entered, to so many significant digits: "97.5 %".
std::string percent_as_entered(double share, int digits = 4);

} // namespace sparecoat::units
