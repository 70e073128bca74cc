#include "support/process.hpp"
#include "support/files.hpp"
#include <catch2/catch.hpp>
#include <cerrno>
#include <csignal>
#include <cstring>
#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

extern char** environ; // NOLINT(readability-redundant-declaration)

namespace sparecoat::test {

pid_t start_program(const std::string& program, std::vector<std::string> args, const Surroundings& in) {
    args.insert(args.begin(), program);
    std::vector<char*> argv;
    for (std::string& arg : args) argv.push_back(arg.data());
    argv.push_back(nullptr);

    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    constexpr int fresh = O_WRONLY | O_CREAT | O_TRUNC;
    posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, in.out.c_str(), fresh, 0644);
    if (in.err == in.out) posix_spawn_file_actions_adddup2(&actions, STDOUT_FILENO, STDERR_FILENO);
    else posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, in.err.c_str(), fresh, 0644);
    if (!in.folder.empty()) posix_spawn_file_actions_addchdir_np(&actions, in.folder.c_str());
    // Signals as in a terminal, whatever started the tests.
    posix_spawnattr_t attributes;
    posix_spawnattr_init(&attributes);
    sigset_t signals;
    sigemptyset(&signals);
    for (const int signal : {SIGINT, SIGTERM}) sigaddset(&signals, signal);
    posix_spawnattr_setsigdefault(&attributes, &signals);
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGDEF);

    pid_t pid = 0;
    const int failed = posix_spawnp(&pid, program.c_str(), &actions, &attributes, argv.data(), environ);
    posix_spawn_file_actions_destroy(&actions);
    posix_spawnattr_destroy(&attributes);
    if (failed != 0) FAIL("cannot start " << program << ": " << std::strerror(failed));
    return pid;
}

int wait_for(pid_t pid) {
    int status = 0;
    while (::waitpid(pid, &status, 0) < 0)
        if (errno != EINTR) FAIL("waitpid: " << std::strerror(errno));
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

Ended run_program(const std::string& program, std::vector<std::string> args,
                  const std::filesystem::path& folder) {
    const ScratchFolder streams;
    const Surroundings in{folder, streams / "out", streams / "err"};
    const int code = wait_for(start_program(program, std::move(args), in));
    return {code, bytes_of(in.out), bytes_of(in.err)};
}

Ended run_line(const std::string& line, const std::filesystem::path& folder) {
    return run_program("/bin/sh", {"-c", line}, folder);
}

std::string said_by(const std::string& line, const std::filesystem::path& folder) {
    const Ended ended = run_line("{ " + line + "; } 2>&1", folder);
    INFO(line << "\n" << ended.out);
    REQUIRE(ended.code == 0);
    return ended.out;
}

std::string shell_word(const std::filesystem::path& file) { return "'" + file.string() + "'"; }

} // namespace sparecoat::test
