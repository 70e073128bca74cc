noperspective in float across;
noperspective in float half_px;
in float radiance;
in vec2 cell, at;
out vec4 light;

void main() {
    float edge = on_panel(texture(shape, cell).z), taped = under_tape(at, texture(tape, cell).r);
    float cover = clamp(half_px + 0.5 - abs(across), 0.0, 1.0) * edge * (1.0 - taped);
    if (radiance * cover <= 1e-6) discard;
    light = vec4(lamp_tint * (radiance * cover), 0.0);
}
