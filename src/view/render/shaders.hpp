#pragma once
#include "rooms.hpp"

/// The sources of shaders/, embedded when the library is built.
namespace sparecoat::view::shaders {

extern const char* const backdrop_vert;
extern const char* const backdrop_frag;
extern const char* const panel_vert;
extern const char* const panel_frag;
extern const char* const line_vert;
extern const char* const line_frag;
extern const char* const body_vert;
extern const char* const body_frag;
extern const char* const lamp_light_glsl;  ///< put before all of the lamp's, but the film's
extern const char* const tape_frames_glsl; ///< put after the version of what shows tape
extern const char* const lamp_cover_glsl;  ///< and this after it, before its fragment shaders
extern const char* const lamp_panel_vert;
extern const char* const lamp_panel_frag;
extern const char* const lamp_line_vert;
extern const char* const lamp_line_frag;
extern const char* const lamp_spot_vert;
extern const char* const lamp_spot_frag;
extern const char* const lamp_film_vert;
extern const char* const lamp_film_frag;

} // namespace sparecoat::view::shaders
