// A piece of a scratch: a ribbon along its arc, as wide as what is left of the groove but never under a pixel, its light
// spread over that. Each cross-section has its own light: it alone knows how it lies to lamp and eye.
uniform vec2 viewport;   // px
uniform float own_scale; // depth of the step's own marks now over that of a fresh abrasive's
uniform float pull;      // m towards the eye, in depth alone
layout(location = 0) in vec4 line;  // middle, direction, length (m)
layout(location = 1) in vec4 cut;   // curvature (1/m), depth (um), width (m), slope's deviation
layout(location = 2) in vec4 piece; // from and to along the line (m), rank of a mark of the step's own (0: a defect)
noperspective out float across; // px from the middle
noperspective out float half_px;
out float radiance;
out vec2 cell, at;

const int cuts = 4; // a piece's

/// Depth over that of the middle: a scratch begins and ends shallow, over a tenth of its length each; what that takes off
/// its mean width the middle has more.
const float wider = 1.0 / 0.9;
float tapered(float share) { return clamp(10.0 * min(share, 1.0 - share), 0.0, 1.0); }

void main() {
    float along = mix(piece.x, piece.y, float(gl_VertexID / 2) / float(cuts));
    float turn = 0.5 * cut.x * along, angle = line.z + turn;
    float chord = along * (1.0 - turn * turn / 6.0);
    at = line.xy + chord * vec2(cos(angle), sin(angle));
    vec2 way = vec2(cos(angle + turn), sin(angle + turn));
    cell = cell_of(at);
    radiance = across = half_px = 0.0;
    gl_Position = vec4(2.0, 2.0, 2.0, 1.0); // behind the eye; where a line is only not seen its ribbon goes on, dark

    vec4 worked = textureLod(cells, cell, 0.0);
    bool own = piece.z > 0.0;
    float depth = cut.y * (own ? own_scale : 1.0);
    float left = depth * tapered(along / line.w + 0.5) - (own ? 0.0 : worked.x);
    if (own && piece.z > worked.y) left = 0.0;
    float shown = smoothstep(visible_um, 1.1 * visible_um, left);
    float width = wider * cut.z * (own ? own_scale : 1.0) * max(left, 0.0) / depth;

    vec4 here = textureLod(shape, cell, 0.0);
    vec3 normal = normal_of(here), world = vec3(at, here.w);
    Sight s = sight_at(world, normal);
    vec3 tangent = normalize(vec3(way, dot(way, here.xy)));
    vec4 clip = view_projection * vec4(world, 1.0);
    if (clip.w < 1e-3) return;
    // A millimetre to the side and one ahead, in pixels.
    vec4 aside = view_projection * vec4(world + 1e-3 * cross(normal, tangent), 1.0);
    vec4 ahead = view_projection * vec4(world + 1e-3 * tangent, 1.0);
    vec2 pixel = 0.5 * viewport * clip.xy / clip.w;
    vec2 forward = normalize(0.5 * viewport * ahead.xy / ahead.w - pixel + vec2(1e-9, 0.0));
    vec2 sideways = vec2(-forward.y, forward.x);
    float per_metre = abs(dot(0.5 * viewport * aside.xy / aside.w - pixel, sideways)) * 1e3;
    float width_px = width * per_metre;
    radiance = shown * s.mirrors * groove(s, tangent, cut.w) * width_px / max(width_px, 1.0);
    half_px = 0.5 * max(width_px, 1.0);
    across = (gl_VertexID & 1) == 0 ? -half_px - 0.5 : half_px + 0.5;
    vec4 nearer = view_projection * vec4(world + pull * s.to_eye, 1.0);
    gl_Position = vec4((pixel + across * sideways) / (0.5 * viewport) * clip.w, nearer.z / nearer.w * clip.w, clip.w);
}
