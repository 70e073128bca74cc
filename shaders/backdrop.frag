#version 330 core
// A wall with a soft pool of light on it; at the rim it is the plain background.
uniform vec3 rim, middle;
in vec2 place;
out vec4 colour;

void main() {
    float away = length(place * vec2(0.85, 1.0) - vec2(0.0, 0.1));
    colour = vec4(mix(middle, rim, smoothstep(0.0, 1.05, away)), 1.0);
}
