// What covers a place of the paint, for fragment shaders of the lamp's picture; follows lamp_light.glsl and
// tape_frames.glsl.

/// How much of a place masking tape covers. @param taped of the tape's texture.
float under_tape(vec2 at, float taped) {
    float strip = half_tape.y - abs(at.x - half_tape.x);
    float strip_cover = half_tape.y > 0.0 ? clamp(strip / max(fwidth(at.x), 1e-6) + 0.5, 0.0, 1.0) : 0.0;
    float sticks = clamp((taped - 0.5) / max(fwidth(taped), 1e-4) + 0.5, 0.0, 1.0);
    float rim;
    return max(max(sticks, strip_cover), under_frames(at, rim));
}

/// Inside the panel's outline, 0 to 1 over one pixel.
float on_panel(float edge_mm) {
    return clamp(edge_mm / max(length(vec2(dFdx(edge_mm), dFdy(edge_mm))), 1e-6) + 0.5, 0.0, 1.0);
}
