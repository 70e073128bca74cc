// An etched spot or a chip: a square on the paint round it.
uniform vec2 viewport; // px
uniform float pull;
layout(location = 0) in vec4 spot; // middle, diameter (m), depth (um)
layout(location = 1) in vec2 look; // 0: water spot, 1: bird lime, 2: chip; a number of its own
out vec2 on_spot;      // in its radii
out vec3 world;
flat out vec3 kind;    // look, and the share of it that a drawn pixel covers
flat out vec3 normal, ahead;

void main() {
    vec2 cell = cell_of(spot.xy);
    vec4 here = textureLod(shape, cell, 0.0);
    float left = look.x > 1.5 ? spot.w : spot.w - textureLod(cells, cell, 0.0).x;
    gl_Position = vec4(2.0, 2.0, 2.0, 1.0); // outside: nothing drawn
    on_spot = vec2(0.0), world = vec3(spot.xy, here.w), kind = vec3(look, 0.0);
    normal = normal_of(here);
    ahead = normalize(vec3(1.0, 0.0, here.x));
    if (left < visible_um || dot(normal, eye - world) <= 0.0) return;
    float radius = 0.5 * spot.z * sqrt(left / spot.w); // area goes with depth
    vec4 clip = view_projection * vec4(world, 1.0), aside = view_projection * vec4(world + 1e-3 * ahead, 1.0);
    if (clip.w < 1e-3) return;
    float per_metre = length(0.5 * viewport * (aside.xy / aside.w - clip.xy / clip.w)) * 1e3;
    float drawn = max(radius, 1.2 / per_metre); // a spot under a pixel or two is drawn larger and fainter
    kind.z = radius * radius / (drawn * drawn);
    const float beyond = 1.5;
    on_spot = beyond * vec2((gl_VertexID & 1) == 0 ? -1.0 : 1.0, gl_VertexID < 2 ? -1.0 : 1.0);
    world += drawn * (on_spot.x * ahead + on_spot.y * cross(normal, ahead));
    vec4 nearer = view_projection * vec4(world + pull * normalize(eye - world), 1.0);
    clip = view_projection * vec4(world, 1.0);
    gl_Position = vec4(clip.xy, nearer.z / nearer.w * clip.w, clip.w);
}
