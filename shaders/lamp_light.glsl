#version 330 core
// The inspection lamp and what clear-coated paint does with its light; every shader of the lamp's picture begins with this.
// Light is linear, in units in which the lamp makes an irradiance of 1 at half a metre.
//
// Paint, grooves and haze alike are made of little mirrors. A mirror sends the lamp to the eye where its normal is the half
// vector h between the two, so radiance = E F D(h) / (4 n.e), with E the lamp's irradiance on a face turned to it, F
// Fresnel's reflectance and D the share of mirrors per solid angle that have that normal (Torrance and Sparrow, J. Opt. Soc.
// Am. 57, 1105 (1967)). Smooth paint has one normal only: it shows the lamp's image. A groove along t has normals in the
// plane across t alone: it lights up where h lies in that plane, which is where the groove is perpendicular to the plane of
// incidence. Of grooves every way those light up that lie round the lamp's image: the rings that a person sees.
uniform mat4 view_projection;
uniform vec3 eye, lamp;
uniform vec2 grid_corner, grid_size; // lower left of the grid's cells and their extent, m
uniform vec2 half_tape;              // u of its middle, half its width (m; 0: none)
uniform sampler2D shape;  // slope along u, along v, distance to the edge (mm, positive inside), height (m)
uniform sampler2D tape;   // 1 under masking tape
uniform sampler2D cells;  // film worn (um), the step's own marks' share, the mirror's share, share lost to the veil

const float pi = 3.14159265;
const float intensity = 0.25;         // of the lamp
const float lamp_radius = 0.018;      // m
const vec3 lamp_tint = vec3(1.0, 0.965, 0.91);
const float waviness = 0.018;         // standard deviation of a groove's direction about its line, as a slope
const vec3 body_albedo = vec3(0.00045, 0.0009, 0.0030); // a deep blue
const float visible_um = 0.2;

vec2 cell_of(vec2 at) { return (at - grid_corner) / grid_size; }
vec3 normal_of(vec4 here) { return normalize(vec3(-here.xy, 1.0)); }
float gauss(float x, float deviation) { return exp(-0.5 * x * x / (deviation * deviation)) / (2.5066283 * deviation); }

float fresnel(float cosine) { // Schlick, n = 1.52
    float grazing = 1.0 - clamp(cosine, 0.0, 1.0), squared = grazing * grazing;
    return 0.0426 + 0.9574 * squared * squared * grazing;
}

/// Lamp and eye as a place of the paint has them.
struct Sight {
    vec3 normal, to_lamp, to_eye, half_way;
    float irradiance;   // on a face turned to the lamp
    float mirrors;      // radiance for each 1/sr of D
    float along_spread; // how far h may be off a groove's plane, as a slope
};

Sight sight_at(vec3 world, vec3 normal) {
    Sight s;
    vec3 away = lamp - world;
    float distance = length(away);
    s.normal = normal;
    s.to_lamp = away / distance;
    s.to_eye = normalize(eye - world);
    s.half_way = normalize(s.to_lamp + s.to_eye);
    float lit = dot(normal, s.to_lamp), seen = dot(normal, s.to_eye);
    s.irradiance = intensity / (distance * distance) * step(0.0, lit);
    s.mirrors = s.irradiance * fresnel(dot(s.half_way, s.to_eye)) / (4.0 * max(seen, 0.05)) * step(0.0, seen);
    // A disc's direction deviates by half its angular radius, and the half vector by half of that.
    float of_lamp = 0.25 * lamp_radius / distance;
    s.along_spread = sqrt(waviness * waviness + of_lamp * of_lamp);
    return s;
}

/// D of a groove along `tangent` whose flanks' slopes deviate by `slope`. Slopes to solid angles: 1/cos^4.
float groove(Sight s, vec3 tangent, float slope) {
    float up = max(dot(s.half_way, s.normal), 0.05);
    float along = dot(s.half_way, tangent) / up, across = dot(s.half_way, cross(s.normal, tangent)) / up;
    return gauss(along, s.along_spread) * gauss(across, slope) / (up * up * up * up);
}

/// D of grooves every way: at a slope a from the mirror they share the circle of radius a.
float haze(Sight s, float slope) {
    float up = max(dot(s.half_way, s.normal), 0.05);
    float off = sqrt(max(1.0 - up * up, 0.0)) / up;
    return 2.0 * gauss(off, slope) / (2.0 * pi * sqrt(off * off + s.along_spread * s.along_spread)) / (up * up * up * up);
}

/// The rest of a dim room in the paint's mirror: just enough to tell its shape.
vec3 room(vec3 towards) { return vec3(0.0026, 0.0030, 0.0040) * smoothstep(-0.7, 0.9, towards.y) + 0.0004; }

/// The colour under the clear coat.
vec3 body(Sight s) {
    return body_albedo / pi * (lamp_tint * s.irradiance * max(dot(s.normal, s.to_lamp), 0.0) + 0.05);
}
