#include "view/run/background_task.hpp"
#include <algorithm>
#include <thread>

namespace sparecoat::view {

int threads_beside_drawing() {
    return std::max(1, static_cast<int>(std::thread::hardware_concurrency()) - 1);
}

} // namespace sparecoat::view
