#version 330 core
// A segment of constant width in pixels: a quad round the two ends, half a pixel larger all round.
uniform mat4 view_projection;
uniform vec2 viewport; // px
uniform float widen;   // px on top of each point's own width
uniform float scale;   // px for each px asked
uniform float round_ends; // 1: reaches half its width beyond its ends
uniform vec3 eye;
uniform float pull;    // m towards the eye, in depth alone, so that lines win over the surface they lie on
layout(location = 0) in vec4 from; // xyz, and the width to the next point, px; 0: none
layout(location = 1) in vec4 to;
noperspective out vec2 place; // px along and across, from the first end
flat out vec2 size;           // length and half width, px

void main() {
    vec4 a = view_projection * vec4(from.xyz, 1.0), b = view_projection * vec4(to.xyz, 1.0);
    gl_Position = vec4(2.0, 2.0, 2.0, 1.0); // outside: nothing drawn
    place = vec2(0.0);
    size = vec2(0.0);
    const float nearest = 1e-3;
    if (from.w <= 0.0 || (a.w < nearest && b.w < nearest)) return;
    if (a.w < nearest) a = mix(a, b, (nearest - a.w) / (b.w - a.w));
    if (b.w < nearest) b = mix(b, a, (nearest - b.w) / (a.w - b.w));

    vec2 start = 0.5 * viewport * a.xy / a.w, end = 0.5 * viewport * b.xy / b.w;
    vec2 along = end - start;
    float length_px = length(along);
    along = length_px > 1e-4 ? along / length_px : vec2(1.0, 0.0);
    float half_width = 0.5 * (from.w * scale + widen * scale);
    bool at_end = gl_VertexID >= 2;
    float side = (gl_VertexID & 1) == 0 ? -1.0 : 1.0;
    float beyond = 0.5 + round_ends * half_width;
    vec2 corner = (at_end ? end + beyond * along : start - beyond * along) +
                  side * (half_width + 0.5) * vec2(-along.y, along.x);
    place = vec2(at_end ? length_px + beyond : -beyond, side * (half_width + 0.5));
    size = vec2(length_px, half_width);
    vec4 end_clip = at_end ? b : a;
    vec3 end_world = at_end ? to.xyz : from.xyz;
    vec4 nearer = view_projection * vec4(end_world + pull * normalize(eye - end_world), 1.0);
    float depth = nearer.w > nearest ? nearer.z / nearer.w : -1.0;
    gl_Position = vec4(corner / (0.5 * viewport) * end_clip.w, depth * end_clip.w, end_clip.w);
}
