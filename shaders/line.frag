#version 330 core
uniform vec4 ink;
uniform float round_ends;
noperspective in vec2 place;
flat in vec2 size;
out vec4 colour;

void main() {
    float beyond = max(max(-place.x, place.x - size.x), 0.0);
    float cover = round_ends > 0.5 ? clamp(size.y + 0.5 - length(vec2(beyond, place.y)), 0.0, 1.0)
                                   : clamp(size.y + 0.5 - abs(place.y), 0.0, 1.0) * clamp(1.0 - beyond, 0.0, 1.0);
    // Thinner than a pixel: fainter, not narrower.
    cover *= min(1.0, 2.0 * size.y);
    if (cover <= 0.0) discard;
    colour = vec4(ink.rgb, ink.a * cover);
}
