#pragma once
#include "rooms.hpp"
#include <glad/gl.h>
#include <glm/glm.hpp>
#include <map>
#include <span>
#include <string>
#include <utility>
#include <vector>

namespace sparecoat::view::gl {

/// Owner of one GL name; `destroy` frees it. The context must be current when one dies.
template <void (*destroy)(GLuint)> class Name {
public:
    Name() = default;
    explicit Name(GLuint name) : name_(name) {}
    ~Name() {
        if (name_) destroy(name_);
    }
    Name(Name&& other) noexcept : name_(std::exchange(other.name_, 0)) {}
    Name& operator=(Name&& other) noexcept {
        std::swap(name_, other.name_);
        return *this;
    }
    GLuint operator*() const { return name_; }
    explicit operator bool() const { return name_ != 0; }

private:
    GLuint name_ = 0;
};

// The functions behind these are pointers filled in once a context is there, so they cannot be template
// arguments themselves.
inline void destroy_buffer(GLuint name) { glDeleteBuffers(1, &name); }
inline void destroy_vertex_array(GLuint name) { glDeleteVertexArrays(1, &name); }
inline void destroy_texture(GLuint name) { glDeleteTextures(1, &name); }
inline void destroy_renderbuffer(GLuint name) { glDeleteRenderbuffers(1, &name); }
inline void destroy_framebuffer(GLuint name) { glDeleteFramebuffers(1, &name); }
inline void destroy_shader(GLuint name) { glDeleteShader(name); }
inline void destroy_program(GLuint name) { glDeleteProgram(name); }

/// A linked vertex and fragment shader. Uniforms are set by name; one that the compiler dropped is ignored.
class Program {
public:
    /// @param name for messages. @throws std::runtime_error with the compiler's log.
    Program(const std::string& name, const char* vertex_source, const char* fragment_source);

    void use() const { glUseProgram(*program_); }
    // For the program in use.
    void set(const char* uniform, int value);
    void set(const char* uniform, float value);
    void set(const char* uniform, glm::ivec2 value);
    void set(const char* uniform, glm::vec2 value);
    void set(const char* uniform, glm::vec3 value);
    void set(const char* uniform, glm::vec4 value);
    void set(const char* uniform, const glm::mat4& value);
    void set(const char* uniform, std::span<const float> values);
    void set(const char* uniform, std::span<const glm::vec4> values);

private:
    GLint place(const char* uniform);

    Name<destroy_program> program_;
    std::map<std::string, GLint, std::less<>> places_;
};

/// A vertex or index buffer that grows as needed.
class Buffer {
public:
    explicit Buffer(GLenum target = GL_ARRAY_BUFFER);
    void bind() const { glBindBuffer(target_, *name_); }

    /// Replaces everything. @return bytes sent.
    template <class T> std::size_t fill(std::span<const T> items, GLenum usage = GL_STATIC_DRAW) {
        return fill_bytes(items.data(), items.size_bytes(), usage);
    }
    /// Writes over the first ones; the rest stays. @return bytes sent.
    template <class T> std::size_t rewrite(std::span<const T> items) const {
        bind();
        glBufferSubData(target_, 0, static_cast<GLsizeiptr>(items.size_bytes()), items.data());
        return items.size_bytes();
    }
    /// Writes `items` behind the first `kept_bytes`, which stay. @return bytes sent (all of them where the
    /// buffer had to grow: `everything` is what it then holds).
    template <class T> std::size_t append(std::span<const T> everything, std::size_t first_new) {
        return append_bytes(everything.data(), everything.size_bytes(), first_new * sizeof(T));
    }

private:
    std::size_t fill_bytes(const void* data, std::size_t bytes, GLenum usage);
    std::size_t append_bytes(const void* data, std::size_t bytes, std::size_t first_new);

    GLenum target_;
    Name<destroy_buffer> name_;
    std::size_t capacity_ = 0;
};

class VertexArray {
public:
    VertexArray();
    void bind() const { glBindVertexArray(*name_); }
    /// Floats from a buffer: `count` of them at `offset_floats`, a record every `stride_floats`.
    /// @param divisor 1: a record for each instance and not for each vertex.
    void attribute(GLuint place, const Buffer& buffer, GLint count, int stride_floats, int offset_floats,
                   GLuint divisor = 0) const;

private:
    Name<destroy_vertex_array> name_;
};

/// Clamped at its borders, bilinear.
class Texture {
public:
    Texture();
    void bind(int unit) const;
    GLuint name() const { return *name_; }
    /// @param internal GL_R32F, ...; @param format GL_RED, ...; @param pixels may be null.
    void allocate(GLint internal, int width, int height, GLenum format, GLenum type, const void* pixels);
    /// Part of it, out of an image in memory that is `row_pixels` wide; `pixels` points to the part's first.
    void update(int x, int y, int width, int height, GLenum format, GLenum type, const void* pixels,
                int row_pixels) const;

private:
    Name<destroy_texture> name_;
};

/// A colour image to draw into, with depth; @param samples 1 or more.
class Framebuffer {
public:
    /// @throws std::runtime_error where the driver does not take it.
    Framebuffer(int width, int height, int samples);
    void bind() const { glBindFramebuffer(GL_FRAMEBUFFER, *name_); }
    /// Copies the picture into another of the same size; resolves samples.
    void copy_to(const Framebuffer& other) const;
    int width() const { return width_; }
    int height() const { return height_; }

private:
    int width_, height_;
    Name<destroy_framebuffer> name_;
    Name<destroy_renderbuffer> colour_, depth_;
};

/// Collects what the driver complains of while it lives: through KHR_debug where the context has it, and
/// always from glGetError when asked.
class Watch {
public:
    Watch();
    ~Watch();
    Watch(const Watch&) = delete;
    Watch& operator=(const Watch&) = delete;

    /// Errors since the last call; empty is good.
    std::vector<std::string> take();

private:
    std::vector<std::string> heard_;
};

} // namespace sparecoat::view::gl
