#include "view/render/offscreen.hpp"
#include "units/error.hpp"
#include "view/render/gl.hpp"
#include <algorithm>
#include <cstdio>
#include <cstring>
#include <optional>
#include <png.h>
#include <stdexcept>
#define EGL_NO_X11
#include <EGL/egl.h>
#include <EGL/eglext.h>
#define GLFW_INCLUDE_NONE
#include <GLFW/glfw3.h>

namespace sparecoat::view {
namespace {

/// An EGL context on no surface, drawn on by the system's own software or hardware driver.
class SurfacelessContext {
public:
    /// @throws std::runtime_error saying which call failed.
    explicit SurfacelessContext(bool debug) {
        const char* extensions = eglQueryString(EGL_NO_DISPLAY, EGL_EXTENSIONS);
        if (!extensions || !std::strstr(extensions, "EGL_MESA_platform_surfaceless"))
            fail("the system's EGL has no surfaceless platform");
        const auto get_display =
            reinterpret_cast<PFNEGLGETPLATFORMDISPLAYEXTPROC>(eglGetProcAddress("eglGetPlatformDisplayEXT"));
        if (!get_display) fail("eglGetPlatformDisplayEXT is missing");
        display_ = get_display(EGL_PLATFORM_SURFACELESS_MESA, EGL_DEFAULT_DISPLAY, nullptr);
        if (display_ == EGL_NO_DISPLAY || !eglInitialize(display_, nullptr, nullptr)) fail("eglInitialize");
        try {
            create(debug);
        } catch (...) {
            close();
            throw;
        }
    }
    ~SurfacelessContext() { close(); }
    SurfacelessContext(const SurfacelessContext&) = delete;
    SurfacelessContext& operator=(const SurfacelessContext&) = delete;

private:
    [[noreturn]] static void fail(const char* what) { throw std::runtime_error(what); }

    void create(bool debug) {
        const EGLint wanted[] = {EGL_SURFACE_TYPE, 0, EGL_RENDERABLE_TYPE, EGL_OPENGL_BIT, EGL_NONE};
        EGLConfig config = nullptr;
        EGLint count = 0;
        if (!eglChooseConfig(display_, wanted, &config, 1, &count) || count < 1) fail("eglChooseConfig");
        if (!eglBindAPI(EGL_OPENGL_API)) fail("eglBindAPI");
        const EGLint version[] = {EGL_CONTEXT_MAJOR_VERSION,
                                  3,
                                  EGL_CONTEXT_MINOR_VERSION,
                                  3,
                                  EGL_CONTEXT_OPENGL_PROFILE_MASK,
                                  EGL_CONTEXT_OPENGL_CORE_PROFILE_BIT,
                                  EGL_CONTEXT_OPENGL_DEBUG,
                                  debug ? EGL_TRUE : EGL_FALSE,
                                  EGL_NONE};
        context_ = eglCreateContext(display_, config, EGL_NO_CONTEXT, version);
        if (context_ == EGL_NO_CONTEXT) fail("eglCreateContext for OpenGL 3.3");
        if (!eglMakeCurrent(display_, EGL_NO_SURFACE, EGL_NO_SURFACE, context_)) fail("eglMakeCurrent");
        if (!gladLoadGL(reinterpret_cast<GLADloadfunc>(eglGetProcAddress)))
            fail("loading OpenGL's functions");
    }

    // The display is one for the whole process and stays up: shutting it would take the driver out of memory
    // and every later context would load it anew.
    void close() {
        eglMakeCurrent(display_, EGL_NO_SURFACE, EGL_NO_SURFACE, EGL_NO_CONTEXT);
        if (context_ != EGL_NO_CONTEXT) eglDestroyContext(display_, context_);
        eglReleaseThread();
    }

    EGLDisplay display_ = EGL_NO_DISPLAY;
    EGLContext context_ = EGL_NO_CONTEXT;
};

class HiddenWindow {
public:
    explicit HiddenWindow(bool debug) {
        if (!glfwInit()) fail("no window system");
        glfwDefaultWindowHints();
        glfwWindowHint(GLFW_VISIBLE, GLFW_FALSE);
        glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
        glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 3);
        glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
        glfwWindowHint(GLFW_OPENGL_DEBUG_CONTEXT, debug ? GLFW_TRUE : GLFW_FALSE);
        window_ = glfwCreateWindow(64, 64, "", nullptr, nullptr);
        glfwDefaultWindowHints();
        if (!window_) fail("no window with OpenGL 3.3");
        glfwMakeContextCurrent(window_);
        if (!gladLoadGL(glfwGetProcAddress)) {
            glfwDestroyWindow(window_);
            fail("loading OpenGL's functions");
        }
    }
    // GLFW itself stays up: a visible window may be using it.
    ~HiddenWindow() { glfwDestroyWindow(window_); }
    HiddenWindow(const HiddenWindow&) = delete;
    HiddenWindow& operator=(const HiddenWindow&) = delete;

private:
    [[noreturn]] static void fail(const char* what) {
        const char* said = nullptr;
        glfwGetError(&said);
        throw std::runtime_error(std::string(what) + (said ? std::string(": ") + said : ""));
    }
    GLFWwindow* window_ = nullptr;
};

} // namespace

struct OffscreenContext::Held {
    std::optional<SurfacelessContext> surfaceless;
    std::optional<HiddenWindow> window;
};

OffscreenContext::OffscreenContext(bool debug) : held_(std::make_unique<Held>()) {
    try {
        held_->surfaceless.emplace(debug);
        description_ = "EGL, surfaceless";
    } catch (const std::runtime_error& no_egl) {
        try {
            held_->window.emplace(debug);
            description_ = "hidden window";
        } catch (const std::runtime_error& no_window) {
            throw std::runtime_error(std::string("no way to draw offscreen: EGL: ") + no_egl.what() +
                                     "; hidden window: " + no_window.what());
        }
    }
    description_ += std::string(": ") + reinterpret_cast<const char*>(glGetString(GL_RENDERER));
}

OffscreenContext::~OffscreenContext() = default;

struct OffscreenPicture::Parts {
    gl::Framebuffer drawn, resolved;
};

OffscreenPicture::OffscreenPicture(int width, int height, int samples) {
    GLint largest = 0, most_samples = 0;
    glGetIntegerv(GL_MAX_RENDERBUFFER_SIZE, &largest);
    glGetIntegerv(GL_MAX_SAMPLES, &most_samples);
    if (width < 1 || height < 1 || width > largest || height > largest)
        throw std::invalid_argument("a picture of " + std::to_string(width) + " x " + std::to_string(height) +
                                    " pixels; allowed: 1 to " + std::to_string(largest) + " a side");
    parts_.reset(new Parts{gl::Framebuffer(width, height, std::min(samples, most_samples)),
                           gl::Framebuffer(width, height, 1)});
    bind();
}

OffscreenPicture::~OffscreenPicture() = default;

void OffscreenPicture::bind() const { parts_->drawn.bind(); }

Image OffscreenPicture::read() const {
    Image image{parts_->drawn.width(), parts_->drawn.height(), {}};
    parts_->drawn.copy_to(parts_->resolved);
    parts_->resolved.bind();
    const std::size_t row = 4 * static_cast<std::size_t>(image.width);
    std::vector<std::uint8_t> upward(row * static_cast<std::size_t>(image.height));
    glPixelStorei(GL_PACK_ALIGNMENT, 1);
    glReadPixels(0, 0, image.width, image.height, GL_RGBA, GL_UNSIGNED_BYTE, upward.data());
    image.rgba.resize(upward.size());
    for (std::size_t j = 0; j < static_cast<std::size_t>(image.height); ++j)
        std::copy_n(upward.data() + (static_cast<std::size_t>(image.height) - 1 - j) * row, row,
                    image.rgba.data() + j * row);
    bind();
    return image;
}

void write_png(const std::filesystem::path& png, const Image& image) {
    png_image header{};
    header.version = PNG_IMAGE_VERSION;
    header.width = static_cast<png_uint_32>(image.width);
    header.height = static_cast<png_uint_32>(image.height);
    header.format = PNG_FORMAT_RGBA;
    if (!png_image_write_to_file(&header, png.string().c_str(), 0, image.rgba.data(), 0, nullptr))
        throw InputError(png.string(), "", header.message, "a picture file that can be written");
}

} // namespace sparecoat::view
