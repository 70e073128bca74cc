#version 330 core
// The pad and other solids: matt, lit from above and in front, clearer where one looks straight into them.
uniform vec3 eye;
uniform vec4 tint;          // colour and opacity
uniform vec4 mark;          // colour of the mark on the plate; opacity 0: no mark
uniform float plate_radius; // m
in vec3 world, normal;
in vec2 on_disc;
out vec4 colour;

const vec3 key = normalize(vec3(-0.30, 0.62, 0.72));

/// 1 inside a shape, 0 outside, with one pixel between; `distance` in m, negative inside.
float filled(float distance) { return clamp(0.5 - distance / max(fwidth(distance), 1e-7), 0.0, 1.0); }

void main() {
    vec3 n = normalize(normal), to_eye = normalize(eye - world);
    float lit = 0.52 + 0.48 * max(dot(n, key), 0.0);
    float shine = pow(max(dot(n, normalize(key + to_eye)), 0.0), 40.0);
    float grazing = 1.0 - abs(dot(n, to_eye));
    vec3 body = tint.rgb;
    float opacity = mix(tint.a, 1.0, 0.5 * grazing * grazing * grazing);

    // Six vent holes and one bar from the hub to the rim: what turns must be seen to turn.
    float radius = length(on_disc);
    float sector = 3.14159265 / 3.0;
    float angle = mod(atan(on_disc.y, on_disc.x), sector) - 0.5 * sector;
    vec2 in_sector = radius * vec2(cos(angle), sin(angle));
    float hole = filled(length(in_sector - vec2(0.60 * plate_radius, 0.0)) - 0.09 * plate_radius);
    float bar = filled(max(abs(on_disc.y) - 0.065 * plate_radius,
                           abs(on_disc.x - 0.63 * plate_radius) - 0.33 * plate_radius));
    float marked = mark.a;
    body = mix(body, 0.35 * body, hole * marked);
    body = mix(body, mark.rgb, bar * marked);
    opacity = mix(opacity, 1.0, bar * marked);
    colour = vec4(body * lit + 0.22 * shine, opacity);
}
