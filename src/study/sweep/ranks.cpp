// The only file that sees MPI.
#include "study/sweep/ranks.hpp"
#include <cstdlib>
#include <stdexcept>
#ifdef SPARECOAT_MPI
#define OMPI_SKIP_MPICXX 1 // NOLINT(cppcoreguidelines-macro-usage): its C++ interface is of the past
#include <mpi.h>
#endif

namespace sparecoat::study {

#ifdef SPARECOAT_MPI

namespace {

/// Started alone MPI would set up a daemon of its own for nothing.
bool started_by_mpirun() {
    for (const char* name : {"OMPI_COMM_WORLD_SIZE", "PMI_SIZE", "PMI_RANK", "PMIX_RANK"})
        if (std::getenv(name) != nullptr) return true;
    return false;
}

void demand(int code) {
    if (code != MPI_SUCCESS) throw std::runtime_error("MPI failed");
}

constexpr int tag = 1;

} // namespace

Ranks::Ranks() {
    if (!started_by_mpirun()) return;
    int given = 0;
    demand(MPI_Init_thread(nullptr, nullptr, MPI_THREAD_SERIALIZED, &given));
    started_ = true;
    if (given < MPI_THREAD_SERIALIZED) throw std::runtime_error("an MPI that cannot be called from threads");
    demand(MPI_Comm_rank(MPI_COMM_WORLD, &rank_));
    demand(MPI_Comm_size(MPI_COMM_WORLD, &count_));
    MPI_Comm near = MPI_COMM_NULL;
    demand(MPI_Comm_split_type(MPI_COMM_WORLD, MPI_COMM_TYPE_SHARED, rank_, MPI_INFO_NULL, &near));
    demand(MPI_Comm_size(near, &here_));
    demand(MPI_Comm_free(&near));
}

Ranks::~Ranks() {
    if (started_) MPI_Finalize();
}

void Ranks::share(std::vector<std::uint8_t>& bytes) const {
    if (count_ == 1) return;
    auto size = static_cast<std::uint64_t>(bytes.size());
    demand(MPI_Bcast(&size, 1, MPI_UINT64_T, 0, MPI_COMM_WORLD));
    bytes.resize(size);
    demand(MPI_Bcast(bytes.data(), static_cast<int>(size), MPI_BYTE, 0, MPI_COMM_WORLD));
}

void Ranks::send(const std::string& bytes) const {
    demand(MPI_Send(bytes.data(), static_cast<int>(bytes.size()), MPI_BYTE, 0, tag, MPI_COMM_WORLD));
}

std::optional<std::string> Ranks::receive() const {
    if (count_ == 1) return std::nullopt;
    int there = 0, size = 0;
    MPI_Status status;
    demand(MPI_Iprobe(MPI_ANY_SOURCE, tag, MPI_COMM_WORLD, &there, &status));
    if (there == 0) return std::nullopt;
    demand(MPI_Get_count(&status, MPI_BYTE, &size));
    std::string bytes(static_cast<std::size_t>(size), '\0');
    demand(MPI_Recv(bytes.data(), size, MPI_BYTE, status.MPI_SOURCE, tag, MPI_COMM_WORLD, MPI_STATUS_IGNORE));
    return bytes;
}

void Ranks::abort(int code) const {
    if (started_) MPI_Abort(MPI_COMM_WORLD, code);
    std::_Exit(code);
}

bool Ranks::built_in() { return true; }

#else

Ranks::Ranks() = default;
Ranks::~Ranks() = default;
void Ranks::share(std::vector<std::uint8_t>&) const {}
void Ranks::send(const std::string&) const {}
std::optional<std::string> Ranks::receive() const { return std::nullopt; }
void Ranks::abort(int code) const { std::_Exit(code); }
bool Ranks::built_in() { return false; }

#endif

} // namespace sparecoat::study
