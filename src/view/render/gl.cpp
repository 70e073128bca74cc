#include "view/render/gl.hpp"
#include <algorithm>
#include <cstdint>
#include <fmt/format.h>
#include <glm/gtc/type_ptr.hpp>
#include <stdexcept>

namespace sparecoat::view::gl {
namespace {

using Shader = Name<destroy_shader>;

Shader compile(GLenum stage, const std::string& name, const char* source) {
    Shader shader(glCreateShader(stage));
    glShaderSource(*shader, 1, &source, nullptr);
    glCompileShader(*shader);
    GLint good = 0;
    glGetShaderiv(*shader, GL_COMPILE_STATUS, &good);
    if (good) return shader;
    char log[4096] = {};
    glGetShaderInfoLog(*shader, sizeof log, nullptr, log);
    throw std::runtime_error(
        fmt::format("shader {} ({}): {}", name, stage == GL_VERTEX_SHADER ? "vertex" : "fragment", log));
}

GLuint generated(void (*generate)(GLsizei, GLuint*)) {
    GLuint name = 0;
    generate(1, &name);
    return name;
}

void GLAD_API_PTR hear(GLenum source, GLenum type, GLuint, GLenum severity, GLsizei length,
                       const GLchar* text, const void* user) {
    // The driver's notes on its own speed are no errors of ours.
    if (type == GL_DEBUG_TYPE_PERFORMANCE || severity == GL_DEBUG_SEVERITY_NOTIFICATION) return;
    auto& heard = *static_cast<std::vector<std::string>*>(const_cast<void*>(user));
    heard.push_back(
        fmt::format("{:#x} {:#x}: {}", source, type,
                    length < 0 ? std::string(text) : std::string(text, static_cast<std::size_t>(length))));
}

} // namespace

// ---- programs

Program::Program(const std::string& name, const char* vertex_source, const char* fragment_source)
    : program_(glCreateProgram()) {
    const Shader vertex = compile(GL_VERTEX_SHADER, name, vertex_source);
    const Shader fragment = compile(GL_FRAGMENT_SHADER, name, fragment_source);
    glAttachShader(*program_, *vertex);
    glAttachShader(*program_, *fragment);
    glLinkProgram(*program_);
    glDetachShader(*program_, *vertex);
    glDetachShader(*program_, *fragment);
    GLint good = 0;
    glGetProgramiv(*program_, GL_LINK_STATUS, &good);
    if (good) return;
    char log[4096] = {};
    glGetProgramInfoLog(*program_, sizeof log, nullptr, log);
    throw std::runtime_error(fmt::format("shader {}: {}", name, log));
}

GLint Program::place(const char* uniform) {
    const auto found = places_.find(uniform);
    if (found != places_.end()) return found->second;
    return places_.emplace(uniform, glGetUniformLocation(*program_, uniform)).first->second;
}

void Program::set(const char* uniform, int value) { glUniform1i(place(uniform), value); }
void Program::set(const char* uniform, float value) { glUniform1f(place(uniform), value); }
void Program::set(const char* uniform, glm::ivec2 value) { glUniform2i(place(uniform), value.x, value.y); }
void Program::set(const char* uniform, glm::vec2 value) {
    glUniform2fv(place(uniform), 1, glm::value_ptr(value));
}
void Program::set(const char* uniform, glm::vec3 value) {
    glUniform3fv(place(uniform), 1, glm::value_ptr(value));
}
void Program::set(const char* uniform, glm::vec4 value) {
    glUniform4fv(place(uniform), 1, glm::value_ptr(value));
}
void Program::set(const char* uniform, const glm::mat4& value) {
    glUniformMatrix4fv(place(uniform), 1, GL_FALSE, glm::value_ptr(value));
}

void Program::set(const char* uniform, std::span<const float> values) {
    glUniform1fv(place(uniform), static_cast<GLsizei>(values.size()), values.data());
}
void Program::set(const char* uniform, std::span<const glm::vec4> values) {
    if (!values.empty())
        glUniform4fv(place(uniform), static_cast<GLsizei>(values.size()), glm::value_ptr(values.front()));
}

// ---- buffers and vertex arrays

Buffer::Buffer(GLenum target) : target_(target), name_(generated(glGenBuffers)) {}

std::size_t Buffer::fill_bytes(const void* data, std::size_t bytes, GLenum usage) {
    bind();
    glBufferData(target_, static_cast<GLsizeiptr>(bytes), data, usage);
    capacity_ = bytes;
    return bytes;
}

std::size_t Buffer::append_bytes(const void* data, std::size_t bytes, std::size_t first_new) {
    bind();
    if (bytes > capacity_) {
        capacity_ = std::max(2 * bytes, std::size_t{4096});
        glBufferData(target_, static_cast<GLsizeiptr>(capacity_), nullptr, GL_DYNAMIC_DRAW);
        first_new = 0;
    }
    if (bytes > first_new)
        glBufferSubData(target_, static_cast<GLintptr>(first_new), static_cast<GLsizeiptr>(bytes - first_new),
                        static_cast<const std::uint8_t*>(data) + first_new);
    return bytes - first_new;
}

VertexArray::VertexArray() : name_(generated(glGenVertexArrays)) {}

void VertexArray::attribute(GLuint place, const Buffer& buffer, GLint count, int stride_floats,
                            int offset_floats, GLuint divisor) const {
    bind();
    buffer.bind();
    glEnableVertexAttribArray(place);
    const auto offset = static_cast<std::uintptr_t>(offset_floats) * sizeof(float);
    glVertexAttribPointer(place, count, GL_FLOAT, GL_FALSE, stride_floats * static_cast<int>(sizeof(float)),
                          reinterpret_cast<const void*>(offset));
    glVertexAttribDivisor(place, divisor);
}

// ---- textures and framebuffers

Texture::Texture() : name_(generated(glGenTextures)) {
    glBindTexture(GL_TEXTURE_2D, *name_);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, GL_LINEAR);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, GL_LINEAR);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_S, GL_CLAMP_TO_EDGE);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_T, GL_CLAMP_TO_EDGE);
}

void Texture::bind(int unit) const {
    glActiveTexture(GL_TEXTURE0 + static_cast<GLenum>(unit));
    glBindTexture(GL_TEXTURE_2D, *name_);
}

void Texture::allocate(GLint internal, int width, int height, GLenum format, GLenum type,
                       const void* pixels) {
    bind(0);
    glPixelStorei(GL_UNPACK_ALIGNMENT, 1);
    glTexImage2D(GL_TEXTURE_2D, 0, internal, width, height, 0, format, type, pixels);
}

void Texture::update(int x, int y, int width, int height, GLenum format, GLenum type, const void* pixels,
                     int row_pixels) const {
    bind(0);
    glPixelStorei(GL_UNPACK_ALIGNMENT, 1);
    glPixelStorei(GL_UNPACK_ROW_LENGTH, row_pixels);
    glTexSubImage2D(GL_TEXTURE_2D, 0, x, y, width, height, format, type, pixels);
    glPixelStorei(GL_UNPACK_ROW_LENGTH, 0);
}

Framebuffer::Framebuffer(int width, int height, int samples)
    : width_(width), height_(height), name_(generated(glGenFramebuffers)),
      colour_(generated(glGenRenderbuffers)), depth_(generated(glGenRenderbuffers)) {
    const GLsizei count = samples > 1 ? samples : 0;
    bind();
    glBindRenderbuffer(GL_RENDERBUFFER, *colour_);
    glRenderbufferStorageMultisample(GL_RENDERBUFFER, count, GL_RGBA8, width, height);
    glFramebufferRenderbuffer(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_RENDERBUFFER, *colour_);
    glBindRenderbuffer(GL_RENDERBUFFER, *depth_);
    glRenderbufferStorageMultisample(GL_RENDERBUFFER, count, GL_DEPTH_COMPONENT24, width, height);
    glFramebufferRenderbuffer(GL_FRAMEBUFFER, GL_DEPTH_ATTACHMENT, GL_RENDERBUFFER, *depth_);
    if (glCheckFramebufferStatus(GL_FRAMEBUFFER) != GL_FRAMEBUFFER_COMPLETE)
        throw std::runtime_error(
            fmt::format("no framebuffer of {} x {} pixels with {} samples", width, height, samples));
}

void Framebuffer::copy_to(const Framebuffer& other) const {
    glBindFramebuffer(GL_READ_FRAMEBUFFER, *name_);
    glBindFramebuffer(GL_DRAW_FRAMEBUFFER, *other.name_);
    glBlitFramebuffer(0, 0, width_, height_, 0, 0, other.width_, other.height_, GL_COLOR_BUFFER_BIT,
                      GL_NEAREST);
}

// ---- errors

Watch::Watch() {
    while (glGetError() != GL_NO_ERROR) {}
    if (!GLAD_GL_KHR_debug) return;
    glEnable(GL_DEBUG_OUTPUT);
    glEnable(GL_DEBUG_OUTPUT_SYNCHRONOUS);
    glDebugMessageCallback(hear, &heard_);
}

Watch::~Watch() {
    if (GLAD_GL_KHR_debug) glDebugMessageCallback(nullptr, nullptr);
}

std::vector<std::string> Watch::take() {
    for (GLenum code = glGetError(); code != GL_NO_ERROR; code = glGetError())
        heard_.push_back(fmt::format("glGetError {:#x}", code));
    return std::exchange(heard_, {});
}

} // namespace sparecoat::view::gl
