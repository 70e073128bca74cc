// Etching: a bowl with a rough floor, so that it is dull where the paint mirrors and milky where it is dark, and a rim that
// catches the light where it lies across the plane of incidence, like a groove bent into a ring. A chip: a pit down to the
// primer, its far wall lit.
in vec2 on_spot;
in vec3 world;
flat in vec3 kind;
flat in vec3 normal, ahead;
out vec4 light; // alpha: what of the paint under it is not seen

const float rough_slope = 0.11;                          // of an etched floor
const float rim_slope = 0.09;
const vec3 primer = vec3(0.020, 0.021, 0.022);

/// Its rim's distance from the middle: a drop dries nearly round, what a bird leaves does not.
float outline(float angle, float number, float ragged) {
    float p = 6.2831853 * number;
    return 1.0 + ragged * (0.5 * sin(2.0 * angle + p) + 0.35 * sin(3.0 * angle + 7.0 * p) + 0.25 * sin(5.0 * angle + 13.0 * p) +
                           0.2 * sin(8.0 * angle + 29.0 * p));
}

void main() {
    vec2 cell = cell_of(world.xy);
    float uncovered = on_panel(texture(shape, cell).z) * (1.0 - under_tape(world.xy, texture(tape, cell).r));
    float chip = step(1.5, kind.x), lime = step(0.5, kind.x) - chip;
    float radius = length(on_spot);
    vec2 outward = on_spot / max(radius, 1e-4);
    float inside = radius / outline(atan(on_spot.y, on_spot.x), kind.y, mix(0.07, 0.28, max(lime, chip)));
    float soft = max(fwidth(inside), 0.02);
    float cover = uncovered * kind.z;
    if (inside > 1.15 || cover <= 0.0) discard;

    vec3 radial = outward.x * ahead + outward.y * cross(normal, ahead);
    Sight s = sight_at(world, normal);
    if (chip > 0.5) {
        float pit = 1.0 - smoothstep(0.9 - soft, 0.9 + soft, inside);
        float wall = smoothstep(0.45, 0.85, inside) * (1.0 - smoothstep(0.95, 0.95 + 2.0 * soft, inside));
        float faces = max(dot(normalize(normal - 1.6 * radial), s.to_lamp), 0.0) - 0.35;
        vec3 floor_light = primer / pi * lamp_tint * s.irradiance * max(dot(normal, s.to_lamp), 0.0) * 0.6;
        vec3 wall_light = lamp_tint * s.irradiance * 0.020 * max(faces, 0.0) * wall;
        light = vec4((floor_light * pit + wall_light) * cover, max(pit, wall) * cover);
        return;
    }
    float dull = 1.0 - smoothstep(0.80 - soft, 1.0 + soft, inside);
    float floor_share = dull * mix(0.55, 0.85, smoothstep(0.2, 0.95, inside)); // dries from the rim: strongest there
    float rim = smoothstep(0.78, 0.92, inside) * (1.0 - smoothstep(0.97, 1.03 + 2.0 * soft, inside));
    float rough = haze(s, rough_slope) * 0.10 * floor_share;
    float glint = groove(s, normalize(cross(normal, radial)), rim_slope) * 0.05 * rim;
    float hides = 0.55 * floor_share * cover;
    light = vec4((lamp_tint * s.mirrors * (rough + glint)) * cover + (body(s) + fresnel(dot(s.to_eye, s.normal)) * room(reflect(-s.to_eye, s.normal))) * hides, hides);
}
