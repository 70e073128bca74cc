#pragma once
#include "rooms.hpp"
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace sparecoat::study {

/// The processes that work at one thing together, where the program was started by mpirun or its like and
/// built with MPI; else this one alone. Number 0 leads. Calls are made by one thread at a time.
class Ranks {
public:
    /// Starts MPI where there is a need for it, which can be done once in a program's life. @throws
    /// std::runtime_error
    Ranks();
    ~Ranks(); ///< waits for the others
    Ranks(const Ranks&) = delete;
    Ranks& operator=(const Ranks&) = delete;

    int rank() const { return rank_; }
    int count() const { return count_; }
    int here() const { return here_; } ///< how many of them share this computer
    bool leads() const { return rank_ == 0; }

    /// The leader's bytes to all.
    void share(std::vector<std::uint8_t>& bytes) const;
    /// To the leader.
    void send(const std::string& bytes) const;
    /// At the leader, a message that has come; nothing if none has.
    std::optional<std::string> receive() const;
    /// Ends all of them at once, this one as well.
    [[noreturn]] void abort(int code) const;

    static bool built_in(); ///< whether the program was built with MPI

private:
    int rank_ = 0, count_ = 1, here_ = 1;
    bool started_ = false;
};

} // namespace sparecoat::study
