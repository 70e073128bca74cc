#pragma once
#include "study/compare.hpp"

namespace sparecoat::study {

/// The settings of the techniques that are not the same in all of them, in the order of a technique's file.
/// One that a technique does not have shows as "none".
std::vector<SettingRow> settings_that_differ(const std::vector<ComparedTechnique>& techniques);

} // namespace sparecoat::study
