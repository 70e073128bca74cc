#pragma once
#include "tool/arm_path.hpp"
#include <filesystem>

namespace sparecoat::formats {

/// Reads a recorded path: comma-separated, first row "t_s,x_mm,y_mm" and after these, in any order, any
/// of force_n, tilt_deg, tilt_toward_deg, rpm, pass, recharge. Force, tilt and speed that are not
/// recorded come from the technique, pass and recharge are 0. A force of 0 means lifted from this row
/// to the next. Time is counted from the first row. Resampled to the step limits (rows closer than
/// that are kept as they are).
/// Windows line ends, blanks round a value, blank lines at the end and a byte order mark are accepted.
/// @param panel in place, to tell whether the path is on it.
/// @throws InputError (csv, place): no such file (""); "line N": bad header, wrong number of values,
/// not a finite number, time not increasing, a gap over 0.5 s, a jump faster than 2 m/s, force outside
/// 0 to 400 N, tilt outside 0 to 30°, rpm outside 0 to 10,000, pass not a whole number from 0, recharge
/// not 0 or 1, fewer than two rows, or (line of the first row) a path whose centre never comes within
/// 100 mm of the panel.
ArmPath read_path_csv(const std::filesystem::path& csv, const Technique& technique, const Panel& panel,
                      StepLimits limits = {});

/// The sample as it reads back once written (`before`: the one before it, if any). Doing it twice gives the
/// same bits as once, so a path of such samples runs the same live and from its file.
ArmSample as_recorded(const ArmSample& sample, const ArmSample* before);

/// Writes a path in the same format, every column, numbers to 12 digits.
/// @throws InputError (csv, "") if the file cannot be written.
void write_path_csv(const std::filesystem::path& csv, const ArmPath& path);

} // namespace sparecoat::formats
