#pragma once
#include <string>

namespace sparecoat::test {

/// Ends the test case here and counts it as skipped, unless something in it failed before: what it was to
/// look at cannot be looked at on this machine. The reason stands in the list above the line of counts.
[[noreturn]] void skip(const std::string& reason);

} // namespace sparecoat::test
