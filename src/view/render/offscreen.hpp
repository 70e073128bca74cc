#pragma once
#include "rooms.hpp"
#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

namespace sparecoat::view {

/// Pixels in rows from the top, four bytes each: red, green, blue, opacity.
struct Image {
    int width = 0, height = 0;
    std::vector<std::uint8_t> rgba;

    const std::uint8_t* at(int x, int y) const {
        return rgba.data() + 4 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
                                  static_cast<std::size_t>(x));
    }
};

/// An OpenGL 3.3 core context without a visible window, current from construction until it dies: an EGL
/// context without any surface where the system has that, else a window that is not shown.
class OffscreenContext {
public:
    /// @param debug asks for a debug context. @throws std::runtime_error with what each way failed of.
    explicit OffscreenContext(bool debug = false);
    ~OffscreenContext();
    OffscreenContext(const OffscreenContext&) = delete;
    OffscreenContext& operator=(const OffscreenContext&) = delete;

    /// "EGL, surfaceless" or "hidden window", and the renderer's name.
    const std::string& description() const { return description_; }

private:
    struct Held;
    std::unique_ptr<Held> held_;
    std::string description_;
};

/// A picture to draw into, smoothed with several samples a pixel. Needs a current context for all its life.
class OffscreenPicture {
public:
    /// @throws std::invalid_argument for a size without a pixel or beyond the driver's limit.
    OffscreenPicture(int width, int height, int samples = 4);
    ~OffscreenPicture();

    /// Drawing goes here from now on.
    void bind() const;
    Image read() const;

private:
    struct Parts;
    std::unique_ptr<Parts> parts_;
};

/// @throws InputError where the file cannot be written.
void write_png(const std::filesystem::path& png, const Image& image);

} // namespace sparecoat::view
