#version 330 core
// Clear-coated paint in a polishing bay, with a map of values laid over it. Colours are worked on as squares
// of what is stored: near enough to linear light, and a square root brings them back.
uniform sampler2D shape;   // slope along u, slope along v, distance to the edge (mm, positive inside), height (m)
uniform sampler2D values;  // the map; far below zero: nothing known
uniform sampler2D colours; // its colour map
uniform vec3 eye;
uniform float low, per_range;     // of the map: first value, 1 / (last - first)
uniform float contour_step;       // 0: none
uniform vec3 contour_levels;      // instead of every multiple of the step; x 0: not
uniform float contour_width;      // px
uniform float draw_map;           // 1 or 0
uniform vec3 paint, underside;
uniform float lamps;              // strength of the bay's tubes
uniform vec4 pad;                 // centre u, v, radius (0: none), depth of its shadow
uniform sampler2D tape;           // 1 under masking tape
in vec3 world;
in vec2 cell;
out vec4 colour;

const float lamp_height = 1.7, lamp_spacing = 1.05; // m

/// What is seen in the mirror of the paint: tubes in rows over the panel, walls that darken towards the floor.
vec3 bay(vec3 from, vec3 towards) {
    float rise = towards.y * 0.5 + 0.5;
    vec3 wall = mix(vec3(0.10, 0.105, 0.12), vec3(0.52, 0.56, 0.62), rise * rise);
    vec2 ceiling = from.xy + towards.xy * (lamp_height - from.z) / max(towards.z, 0.08);
    float row = (ceiling.y + 0.16 * ceiling.x) / lamp_spacing;
    // Where a tight curve gathers many tubes into a pixel, their mean is seen and no moire.
    float blur = clamp(fwidth(row), 0.0, 1.0);
    float tube = 1.0 - smoothstep(0.10 - 0.3 * blur, 0.19 + 0.4 * blur, abs(fract(row) - 0.5));
    tube = mix(tube, 0.29, smoothstep(0.25, 0.7, blur));
    float within = 1.0 - smoothstep(1.6, 3.2, length(ceiling - from.xy)); // the bay ends
    return wall + lamps * tube * within * vec3(1.0, 0.985, 0.95);
}

void main() {
    vec3 here = texture(shape, cell).xyz;
    float to_edge_px = here.z / max(length(vec2(dFdx(here.z), dFdy(here.z))), 1e-6);
    float cover = clamp(to_edge_px + 0.5, 0.0, 1.0);
    float value = texture(values, cell).r;
    float slant = max(length(vec2(dFdx(value), dFdy(value))), 1e-12); // per px
    if (cover <= 0.0) discard;

    vec3 normal = normalize(vec3(-here.xy, 1.0));
    vec3 to_eye = normalize(eye - world);
    if (!gl_FrontFacing) {
        colour = vec4(underside * (0.8 + 0.2 * abs(dot(normal, to_eye))), cover);
        return;
    }

    float facing = max(dot(normal, to_eye), 0.0);
    float grazing = 1.0 - facing;
    float squared = grazing * grazing;
    float mirror = 0.04 + 0.96 * squared * squared * grazing; // Schlick, n = 1.5

    vec3 body = paint * paint;
    float mapped = draw_map * step(-1e20, value);
    if (mapped > 0.5) {
        float share = clamp((value - low) * per_range, 0.0, 1.0);
        vec3 shown = texture(colours, vec2((share * 255.0 + 0.5) / 256.0, 0.5)).rgb;
        if (contour_step > 0.0) {
            float level = floor(value / contour_step + 0.5) * contour_step;
            if (contour_levels.x > 0.0) {
                level = contour_levels.x;
                if (abs(value - contour_levels.y) < abs(value - level)) level = contour_levels.y;
                if (abs(value - contour_levels.z) < abs(value - level)) level = contour_levels.z;
            }
            float away_px = abs(value - level) / slant;
            float line = clamp(0.5 * contour_width + 0.5 - away_px, 0.0, 1.0);
            // The ends of the range and level 0 are no lines, and a plain that happens to lie at a level is
            // none either.
            float level_share = (level - low) * per_range;
            float between = step(0.5 * contour_step, abs(level)) * step(1e-3, level_share) * step(level_share, 0.999);
            line *= between * smoothstep(2e-4, 1e-3, slant / contour_step);
            float dark = dot(shown, vec3(0.30, 0.59, 0.11));
            shown = mix(shown, dark > 0.45 ? vec3(0.10, 0.10, 0.13) : vec3(0.97), 0.72 * line);
        }
        body = shown * shown;
    }

    // Masking tape: cream with slanted lines, flat over paint and map alike. Where the lines are finer than a
    // pixel their mean is seen.
    float taped = texture(tape, cell).r;
    float rim;
    float sticks = max(clamp((taped - 0.5) / max(fwidth(taped), 1e-4) + 0.5, 0.0, 1.0), under_frames(world.xy, rim));
    if (sticks > 0.0) {
        float across = (world.x + world.y) / 0.009;
        float blur = clamp(1.5 * fwidth(across), 0.0, 1.0);
        float stripe = mix(smoothstep(0.30, 0.30 + 0.5 * blur + 1e-3, abs(fract(across) - 0.5)), 0.4, smoothstep(0.6, 1.0, blur));
        vec3 cream = mix(vec3(0.93, 0.88, 0.70), vec3(0.70, 0.60, 0.36), stripe);
        body = mix(body, mix(cream * cream, vec3(0.16, 0.12, 0.05), rim / max(sticks, 1e-3)), sticks);
        mirror *= 1.0 - 0.9 * sticks; // crepe paper does not shine
    }

    // Shape shows as the difference from a flat panel, which keeps the legend's colours.
    const vec3 key = normalize(vec3(-0.30, 0.62, 0.72));
    float lit = clamp(dot(normal, key) / key.z, 0.0, 1.7);
    body *= mix(1.0, lit, mapped > 0.5 ? 0.42 : 0.75);

    vec2 from_pad = (world.xy - pad.xy) / max(pad.z, 1e-6);
    body *= 1.0 - pad.w * (1.0 - smoothstep(0.90, 1.22, length(from_pad)));

    // Over a map the mirror brightens the colour and hardly whitens it: hue stays the legend's.
    vec3 mirrored = mirror * bay(world, reflect(-to_eye, normal));
    if (mapped > 0.5) mirrored = min(mirrored.g, 0.22) * (1.1 * body + 0.05);
    else mirrored *= 2.2;
    colour = vec4(sqrt(body * (1.0 - mirror * 0.5) + mirrored), cover);
}
