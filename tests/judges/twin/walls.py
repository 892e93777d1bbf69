"""Walls of gravity and pressure liners, from the printed equations and not from the Rust.

X1.1 to X1.4 as applied in Najafi, Trenchless Technology Piping, 2010, pp. 75-83; X1.5 to X1.7, Glock
and Thepot from memory. Each function takes the inputs by name and gives one value for each output;
None where the check does not apply. Where the two could share a slip, another form is used: ratios
t/D solved directly, roots by logarithms, the stress under a rectangle after Holl instead of Newmark.
"""

import math

from . import Refused
from .loads import FT, KN_M3_PER_PCF, MPA_PER_PSI, external_load, soil_support


def root(value, degree):
    """The real root of a positive number."""
    return math.exp(math.log(value) / degree) if value > 0 else 0.0


def ovality_factor(percent):
    """C."""
    d = percent / 100
    return (1 - d) ** 3 * (1 + d) ** -6


def thin(wall, diameter):
    """Refuses what is no thin ring."""
    if not wall < diameter / 2:
        raise Refused("no thin ring")
    return wall


def ovality(maximum_diameter_mm, mean_diameter_mm, minimum_diameter_mm):
    if not minimum_diameter_mm <= mean_diameter_mm <= maximum_diameter_mm:
        raise Refused("the mean lies outside")
    over = maximum_diameter_mm / mean_diameter_mm - 1
    under = 1 - minimum_diameter_mm / mean_diameter_mm
    # The larger of the two, without the cancellation of the quotients.
    if over > under:
        return [(maximum_diameter_mm - mean_diameter_mm) * 100 / mean_diameter_mm]
    return [(mean_diameter_mm - minimum_diameter_mm) * 100 / mean_diameter_mm]


def ovality_reduction(ovality_percent):
    return [ovality_factor(ovality_percent)]


def x11_wall(D, P, K, E_L, nu, q, N):
    """X1.1 solved for t: DR - 1 is the cube root."""
    cube = 2 * K * E_L * ovality_factor(q) / ((1 - nu * nu) * P * N)
    return thin(D / (1 + root(cube, 3)), D)


def x11_pressure(D, t, K, E_L, nu, q, N):
    thin(t, D)
    return 2 * K * E_L / (1 - nu * nu) * (t / (D - t)) ** 3 * ovality_factor(q) / N


def x12_wall(D, P, S, q, N):
    """X1.2 as a quadratic of x = t/D: s*x^2 + 0.5(1+d)x - 1.5d(1+d) = 0."""
    if q == 0:
        return None
    d, s = q / 100, S / (P * N)
    half = 0.5 * (1 + d)
    x = 3 * d * (1 + d) / (half + math.sqrt(half**2 + 6 * s * d * (1 + d)))
    return thin(D * x, D)


def x12_pressure(D, t, S, q, N):
    thin(t, D)
    d, x = q / 100, t / D
    bracket = (1 + d) * (3 * d - x) / (2 * x * x)
    return S / (N * bracket) if bracket > 0 else None


def x13_wall(D, q_t, R_w, B, E_s, E_L, q, N, before_2007=False):
    C = ovality_factor(q)
    # q_t = (1/N)*sqrt(32*R_w*B'*E'_s*C*E_L*I/D^3) with I = t^3/12; before 2007 C*sqrt(...).
    needed = N * q_t / (C if before_2007 else math.sqrt(C))
    ring = needed**2 / (32 * R_w * B * E_s)
    return thin(D * root(12 * ring / E_L, 3), D)


def x13_load(D, t, R_w, B, E_s, E_L, q, N, before_2007=False):
    thin(t, D)
    C = ovality_factor(q)
    load = math.sqrt(32 * R_w * B * E_s * E_L * t**3 / (12 * D**3)) / N
    return load * (C if before_2007 else math.sqrt(C))


def x14_wall(D, E, limit):
    return thin(D / root(E / (12 * limit), 3), D)


def restrained_buckling_wall(host_diameter_mm, groundwater_pressure_mpa, enhancement_factor,
                             long_term_flexural_modulus_mpa, poisson_ratio, ovality_percent,
                             safety_factor):
    return [x11_wall(host_diameter_mm, groundwater_pressure_mpa, enhancement_factor,
                     long_term_flexural_modulus_mpa, poisson_ratio, ovality_percent,
                     safety_factor)]


def restrained_buckling_pressure(host_diameter_mm, wall_thickness_mm, enhancement_factor,
                                 long_term_flexural_modulus_mpa, poisson_ratio, ovality_percent,
                                 safety_factor):
    return [x11_pressure(host_diameter_mm, wall_thickness_mm, enhancement_factor,
                         long_term_flexural_modulus_mpa, poisson_ratio, ovality_percent,
                         safety_factor)]


def oval_bending_wall(host_diameter_mm, groundwater_pressure_mpa,
                      long_term_flexural_strength_mpa, ovality_percent, safety_factor):
    return [x12_wall(host_diameter_mm, groundwater_pressure_mpa, long_term_flexural_strength_mpa,
                     ovality_percent, safety_factor)]


def oval_bending_pressure(host_diameter_mm, wall_thickness_mm, long_term_flexural_strength_mpa,
                          ovality_percent, safety_factor):
    return [x12_pressure(host_diameter_mm, wall_thickness_mm, long_term_flexural_strength_mpa,
                         ovality_percent, safety_factor)]


def soil_buckling_wall(host_diameter_mm, external_load_mpa, buoyancy_factor, elastic_support,
                       soil_modulus_mpa, long_term_flexural_modulus_mpa, ovality_percent,
                       safety_factor, before_2007=False):
    return [x13_wall(host_diameter_mm, external_load_mpa, buoyancy_factor, elastic_support,
                     soil_modulus_mpa, long_term_flexural_modulus_mpa, ovality_percent,
                     safety_factor, before_2007)]


def soil_buckling_wall_before_2007(**inputs):
    return soil_buckling_wall(**inputs, before_2007=True)


def soil_buckling_load(host_diameter_mm, wall_thickness_mm, buoyancy_factor, elastic_support,
                       soil_modulus_mpa, long_term_flexural_modulus_mpa, ovality_percent,
                       safety_factor, before_2007=False):
    return [x13_load(host_diameter_mm, wall_thickness_mm, buoyancy_factor, elastic_support,
                     soil_modulus_mpa, long_term_flexural_modulus_mpa, ovality_percent,
                     safety_factor, before_2007)]


def soil_buckling_load_before_2007(**inputs):
    return soil_buckling_load(**inputs, before_2007=True)


def minimum_stiffness_wall(host_diameter_mm, short_term_flexural_modulus_mpa,
                           stiffness_limit_mpa):
    return [x14_wall(host_diameter_mm, short_term_flexural_modulus_mpa, stiffness_limit_mpa)]


def ring_stiffness(host_diameter_mm, wall_thickness_mm, short_term_flexural_modulus_mpa):
    thin(wall_thickness_mm, host_diameter_mm)
    inertia = wall_thickness_mm**3 / 12
    return [short_term_flexural_modulus_mpa * inertia / host_diameter_mm**3]


def partial_wall(host_diameter_mm, groundwater_pressure_mpa, enhancement_factor,
                 long_term_flexural_modulus_mpa, long_term_flexural_strength_mpa, poisson_ratio,
                 ovality_percent, safety_factor):
    first = x11_wall(host_diameter_mm, groundwater_pressure_mpa, enhancement_factor,
                     long_term_flexural_modulus_mpa, poisson_ratio, ovality_percent,
                     safety_factor)
    second = x12_wall(host_diameter_mm, groundwater_pressure_mpa,
                      long_term_flexural_strength_mpa, ovality_percent, safety_factor)
    return [max(first, second or 0.0), first, second]


def demands(us, D, cover, water, live, w):
    """P, q_t, R_w, B' and the least stiffness, in MPa, by the US or the SI constants."""
    if us:
        P = (water + D / 1000) / FT * 62.4 / 144 * MPA_PER_PSI
        q_t, R_w, _ = external_load(water / FT, cover / FT, w / KN_M3_PER_PCF,
                                    live / MPA_PER_PSI, us=True)
        return P, q_t * MPA_PER_PSI, R_w, soil_support(0.065 * cover / FT), 0.093 * MPA_PER_PSI
    P = 0.00981 * (water + D / 1000)
    q_t, R_w, _ = external_load(water, cover, w, live, us=False)
    return P, q_t, R_w, soil_support(0.213 * cover), 0.00064


def gravity_wall(us, before_2007, host_diameter_mm, ovality_percent, enhancement_factor,
                 short_term_flexural_modulus_mpa, long_term_flexural_modulus_mpa,
                 long_term_flexural_strength_mpa, poisson_ratio, safety_factor,
                 soil_unit_weight_kn_per_m3, soil_modulus_mpa, cover_m,
                 groundwater_above_crown_m, live_load_mpa):
    if long_term_flexural_modulus_mpa > short_term_flexural_modulus_mpa:
        raise Refused("the modulus grows with age")
    D, E_L, q, N = host_diameter_mm, long_term_flexural_modulus_mpa, ovality_percent, safety_factor
    P, q_t, R_w, B, limit = demands(us, D, cover_m, groundwater_above_crown_m, live_load_mpa,
                                    soil_unit_weight_kn_per_m3)
    walls = [
        x11_wall(D, P, enhancement_factor, E_L, poisson_ratio, q, N),
        x12_wall(D, P, long_term_flexural_strength_mpa, q, N),
        x13_wall(D, q_t, R_w, B, soil_modulus_mpa, E_L, q, N, before_2007),
        x14_wall(D, short_term_flexural_modulus_mpa, limit),
    ]
    return [max(wall or 0.0 for wall in walls), *walls, P, q_t, R_w, B]


def as_built(us, host_diameter_mm, ovality_percent, enhancement_factor, poisson_ratio,
             soil_unit_weight_kn_per_m3, soil_modulus_mpa, cover_m, groundwater_above_crown_m,
             live_load_mpa, measured_wall_thickness_mm, measured_modulus_mpa,
             long_term_flexural_modulus_mpa, long_term_flexural_strength_mpa):
    if long_term_flexural_modulus_mpa > measured_modulus_mpa:
        raise Refused("the modulus grows with age")
    D, t, E_L, q = (host_diameter_mm, measured_wall_thickness_mm, long_term_flexural_modulus_mpa,
                    ovality_percent)
    P, q_t, R_w, B, limit = demands(us, D, cover_m, groundwater_above_crown_m, live_load_mpa,
                                    soil_unit_weight_kn_per_m3)
    bending = x12_pressure(D, t, long_term_flexural_strength_mpa, q, 1)
    soil = x13_load(D, t, R_w, B, soil_modulus_mpa, E_L, q, 1)
    return [
        x11_pressure(D, t, enhancement_factor, E_L, poisson_ratio, q, 1) / P,
        None if bending is None else bending / P,
        None if q_t == 0 or math.isinf(soil / q_t) else soil / q_t,
        measured_modulus_mpa * (t / D) ** 3 / 12 / limit,
    ]


def hole_limit(dimension_ratio):
    return [1.83 * dimension_ratio**-0.5]


def hole_bending(host_diameter_mm, wall_thickness_mm, hole_diameter_mm,
                 long_term_flexural_strength_mpa, safety_factor):
    D, t, d = host_diameter_mm, wall_thickness_mm, hole_diameter_mm
    if not 3 <= D / t <= 500:
        raise Refused("DR beyond the rule")
    if d > 1.83 * math.sqrt(t / D) * D:
        raise Refused("too large for a plate")
    return [5.33 * (t / (D - t)) ** 2 * (D / d) ** 2 * long_term_flexural_strength_mpa
            / safety_factor]


def ring_tension(dimension_ratio, long_term_tensile_strength_mpa, safety_factor):
    return [2 * long_term_tensile_strength_mpa / (dimension_ratio - 2) / safety_factor]


def x17_wall(D, p, strength, N):
    return thin(D * p * N / (2 * p * N + 2 * strength), D)


def ring_tension_wall(host_diameter_mm, internal_pressure_mpa, long_term_tensile_strength_mpa,
                      safety_factor):
    return [x17_wall(host_diameter_mm, internal_pressure_mpa, long_term_tensile_strength_mpa,
                     safety_factor)]


def x16_wall(D, d, p, strength, N):
    """A plate over the hole; None where the hole is too large for one."""
    ratio = 1 + D / d * math.sqrt(5.33 * strength / (p * N))
    # The hole's limit is stated for DR 3 to 500; a thinner wall than that is held to DR 500.
    if ratio >= 3 and d / D <= 1.83 / math.sqrt(min(ratio, 500)):
        return thin(D / ratio, D)
    return None


def hole_bending_wall(host_diameter_mm, hole_diameter_mm, internal_pressure_mpa,
                      long_term_flexural_strength_mpa, safety_factor):
    return [x16_wall(host_diameter_mm, hole_diameter_mm, internal_pressure_mpa,
                     long_term_flexural_strength_mpa, safety_factor)]


def pressure_wall(host_diameter_mm, hole_diameter_mm, internal_pressure_mpa,
                  groundwater_pressure_mpa, enhancement_factor, long_term_flexural_modulus_mpa,
                  long_term_flexural_strength_mpa, long_term_tensile_strength_mpa, poisson_ratio,
                  ovality_percent, safety_factor):
    D, p, N = host_diameter_mm, internal_pressure_mpa, safety_factor
    plate = x16_wall(D, hole_diameter_mm, p, long_term_flexural_strength_mpa, N)
    ring = x17_wall(D, p, long_term_tensile_strength_mpa, N)
    empty = x11_wall(D, groundwater_pressure_mpa, enhancement_factor,
                     long_term_flexural_modulus_mpa, poisson_ratio, ovality_percent, N)
    return [max(ring if plate is None else plate, empty), plate, ring, empty]


def pressure_wall_deteriorated(us, long_term_tensile_strength_mpa, internal_pressure_mpa, **outside):
    """A host that carries no hoop: X1.7 when full, the four gravity checks when empty."""
    ring = x17_wall(outside["host_diameter_mm"], internal_pressure_mpa,
                    long_term_tensile_strength_mpa, outside["safety_factor"])
    empty, *each = gravity_wall(us, False, **outside)[:5]
    return [max(ring, empty), ring, empty, *each]


def rigid_encasement_pressure(host_diameter_mm, wall_thickness_mm, flexural_modulus_mpa,
                              poisson_ratio):
    thin(wall_thickness_mm, host_diameter_mm)
    mean = host_diameter_mm - wall_thickness_mm
    exponent = 2.2 * math.log(wall_thickness_mm / mean)
    return [flexural_modulus_mpa / (1 - poisson_ratio**2) * math.exp(exponent)]


def rigid_encasement_wall(host_diameter_mm, groundwater_pressure_mpa, flexural_modulus_mpa,
                          poisson_ratio, imperfection_factor, safety_factor):
    # p_cr*kappa = P*N, so (t/D_m)^2.2 = P*N*(1 - nu^2)/(kappa*E), and D_m = D - t.
    power = (groundwater_pressure_mpa * safety_factor * (1 - poisson_ratio**2)
             / (imperfection_factor * flexural_modulus_mpa))
    x = root(power, 2.2)
    return [thin(host_diameter_mm * x / (1 + x), host_diameter_mm)]


def perfect_shape_pressure(lobe_count, perimeter_mm, lobe_radius_mm, wall_thickness_mm,
                           flexural_modulus_mpa, poisson_ratio):
    # I^0.6*A^0.4 = t^2.2/12^0.6 for a strip of unit width.
    t = wall_thickness_mm
    shape = (lobe_count / perimeter_mm) ** 0.4 * t**2.2 / (12**0.6 * lobe_radius_mm**1.8)
    return [2.02 * flexural_modulus_mpa / (1 - poisson_ratio**2) * shape]


def equivalent_enhancement(dimension_ratio):
    return [root((dimension_ratio - 1) ** 4, 5) / 2]


def equivalent_wall(wall_thickness_mm, measured_modulus_mpa, design_modulus_mpa):
    return [root(wall_thickness_mm**3 * measured_modulus_mpa / design_modulus_mpa, 3)]


def long_term_modulus(short_term_flexural_modulus_mpa, modulus_retention_factor):
    return [modulus_retention_factor * short_term_flexural_modulus_mpa]
