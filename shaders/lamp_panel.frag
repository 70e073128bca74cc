// Paint under the lamp without its single marks: the colour, the lamp's image, and the veil round it that haze makes.
uniform float veil_slope;
in vec3 world;
in vec2 cell;
out vec4 light; // multiplied by the cover

/// Crepe paper, as the eye would see it: in true proportion it would outshine everything.
vec3 paper(vec2 at, Sight s) {
    float across = (at.x + at.y) / 0.009, blur = clamp(1.5 * fwidth(across), 0.0, 1.0);
    float stripe = mix(smoothstep(0.30, 0.30 + 0.5 * blur + 1e-3, abs(fract(across) - 0.5)), 0.4, smoothstep(0.6, 1.0, blur));
    vec3 cream = mix(vec3(0.88, 0.74, 0.36), vec3(0.62, 0.44, 0.13), stripe);
    return cream * (0.004 + 0.012 * sqrt(s.irradiance) * max(dot(s.normal, s.to_lamp), 0.0));
}

void main() {
    vec4 here = texture(shape, cell);
    vec4 worked = texture(cells, cell);
    float cover = on_panel(here.z), taped = under_tape(world.xy, texture(tape, cell).r);
    Sight s = sight_at(world, normal_of(here));
    vec3 towards = reflect(-s.to_eye, s.normal);
    // Smooth over the directions that one pixel spans; on a tight curve that is more than the image, whose light is spread.
    float size = lamp_radius / length(lamp - world), off = length(towards - s.to_lamp);
    float pixel = max(fwidth(off), 1e-5);
    float seen = clamp((size - off) / pixel + 0.5, 0.0, 1.0) * min(1.0, 2.0 * size / pixel);
    if (cover <= 0.0) discard;
    if (!gl_FrontFacing) { // its back is drawn elsewhere; here it only hides what is behind it
        light = vec4(0.0);
        return;
    }
    float mirror = fresnel(dot(s.to_eye, s.normal));
    vec3 image = lamp_tint * (seen * intensity / (pi * lamp_radius * lamp_radius));
    vec3 shown = body(s) + mirror * worked.z * (image + room(towards)) +
                 lamp_tint * (s.mirrors * worked.w * haze(s, veil_slope));
    light = vec4(mix(shown, paper(world.xy, s), taped) * cover, cover);
}
