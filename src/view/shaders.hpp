#pragma once

/// The sources of shaders/, embedded when the library is built.
namespace sparecoat::shaders {

extern const char* const backdrop_vert;
extern const char* const backdrop_frag;
extern const char* const panel_vert;
extern const char* const panel_frag;
extern const char* const line_vert;
extern const char* const line_frag;
extern const char* const body_vert;
extern const char* const body_frag;

} // namespace sparecoat::shaders
