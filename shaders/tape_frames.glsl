// Strips of masking tape round squares, for fragment shaders; put after the version.
const int most_tape_frames = 12;
uniform vec4 tape_frames[most_tape_frames];     // middle u, v; half a side along u, v: the tape lies outside
uniform float tape_strength[most_tape_frames];  // 1 or, for faint ones, less
uniform int tape_count;                         // of them in use
uniform float tape_strip;                       // width of the strip, m

/// How much tape covers a place, 0 to 1. @param rim how much of that is the tape's own edge, which is seen over paint of
/// its colour as well.
float under_frames(vec2 at, out float rim) {
    float cover = 0.0;
    rim = 0.0;
    for (int k = 0; k < tape_count; ++k) {
        vec2 beyond = abs(at - tape_frames[k].xy) - tape_frames[k].zw;
        float out_by = max(beyond.x, beyond.y), pixel = max(fwidth(out_by), 1e-6);
        float strip = clamp(out_by / pixel + 0.5, 0.0, 1.0) * clamp((tape_strip - out_by) / pixel + 0.5, 0.0, 1.0);
        cover = max(cover, tape_strength[k] * strip);
        float from_rim = min(abs(out_by), abs(tape_strip - out_by)) / pixel;
        rim = max(rim, tape_strength[k] * strip * clamp(1.5 - from_rim, 0.0, 1.0));
    }
    return cover;
}
