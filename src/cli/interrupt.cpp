#include "cli/interrupt.hpp"
#include "run/run_job.hpp"
#include <csignal>

namespace sparecoat::cli {
namespace {

volatile std::sig_atomic_t noted = 0;

extern "C" void note(int signal) { noted = signal; }

} // namespace

void note_signals() {
    struct sigaction action = {};
    action.sa_handler = note;
    action.sa_flags = SA_RESTART; // a file half-way through a write is finished, not failed
    for (const int signal : {SIGINT, SIGTERM, SIGHUP, SIGPIPE}) {
        struct sigaction before = {};
        // One that the parent had ignored (nohup, a shell's background job) stays ignored.
        if (::sigaction(signal, nullptr, &before) == 0 && before.sa_handler == SIG_IGN) continue;
        ::sigaction(signal, &action, nullptr);
    }
}

int noted_signal() { return noted; }

void stop_if_asked() {
    if (noted != 0) throw Stopped();
}

} // namespace sparecoat::cli
