#version 330 core
uniform mat4 view_projection;
// The solid's own frame in the panel's, and how far the disc's marks have turned in it.
uniform vec3 origin, along, across, upright;
uniform float spin; // rad
layout(location = 0) in vec3 position;
layout(location = 1) in vec3 facing;
layout(location = 2) in float lift; // m, pushed away from the panel
out vec3 world, normal;
out vec2 on_disc;

vec3 turned(vec3 own) { return own.x * along + own.y * across + own.z * upright; }

void main() {
    world = origin + turned(position) + vec3(0.0, 0.0, lift);
    normal = turned(facing);
    on_disc = mat2(cos(spin), -sin(spin), sin(spin), cos(spin)) * position.xy;
    gl_Position = view_projection * vec4(world, 1.0);
}
