#pragma once
// Other programs, and the one under test, as a shell would start them.
#include <filesystem>
#include <string>
#include <sys/types.h>
#include <vector>

namespace sparecoat::test {

/// Where a program runs and where what it says goes.
struct Surroundings {
    std::filesystem::path folder;                               ///< that of the tests where empty
    std::filesystem::path out = "/dev/null", err = "/dev/null"; ///< may be one file
};

/// Starts a program, found on the path where its name has no slash, with nothing on its standard input and
/// signals as in a terminal. Fails the test where it cannot be started.
pid_t start_program(const std::string& program, std::vector<std::string> args, const Surroundings& in = {});

/// Waits for its end; its exit code, or 128 and the signal's number where a signal ended it.
int wait_for(pid_t pid);

/// How a program ended.
struct Ended {
    int code = -1; ///< as wait_for has it
    std::string out, err;
};

/// Runs a program to its end.
Ended run_program(const std::string& program, std::vector<std::string> args,
                  const std::filesystem::path& folder = {});

/// Runs a line of the shell's to its end.
Ended run_line(const std::string& line, const std::filesystem::path& folder = {});

/// What a line of the shell's says on both streams. Fails the test where it does not end with 0.
std::string said_by(const std::string& line, const std::filesystem::path& folder = {});

/// A file's name as one word of a line of the shell's.
std::string shell_word(const std::filesystem::path& file);

} // namespace sparecoat::test
