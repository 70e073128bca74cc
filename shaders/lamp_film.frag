#version 330 core
// The lamp's picture brought onto the screen, as a film would take it: in proportion while it is dark, gently burnt out where
// the lamp itself is seen. x/(1 + x) keeps shades far up (Reinhard and others, ACM Trans. Graphics 21, 267 (2002)).
uniform sampler2D lit; // linear light, multiplied by its cover
uniform float exposure;
uniform int fineness; // texels to a pixel, each way
uniform ivec2 corner; // of the viewport
out vec4 colour;

void main() {
    // Burnt out texel by texel: a mean of light would let one bright texel take its whole pixel.
    vec4 sum = vec4(0.0);
    ivec2 first = fineness * (ivec2(gl_FragCoord.xy) - corner);
    for (int j = 0; j < fineness; ++j)
        for (int i = 0; i < fineness; ++i) {
            vec4 taken = texelFetch(lit, first + ivec2(i, j), 0);
            vec3 exposed = exposure * taken.rgb / max(taken.a, 1e-3);
            sum += vec4(exposed / (1.0 + exposed) * taken.a, taken.a);
        }
    if (sum.a <= 0.0) discard;
    colour = vec4(pow(sum.rgb / sum.a, vec3(1.0 / 2.2)), sum.a / float(fineness * fineness));
}
