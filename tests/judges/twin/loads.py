"""Water, soil and traffic, from the printed equations and tables and not from the Rust."""

import math

FT = 0.3048
LBF = 0.45359237 * 9.80665
MPA_PER_PSI = LBF / 25.4**2
KN_M3_PER_PCF = LBF / FT**3 / 1000

# From memory, as the AISI steel drainage handbook and AWWA M23 print them, in psf at ft of cover.
HS20_PSF = {1: 1800, 2: 800, 3: 600, 4: 400, 5: 250, 6: 200, 7: 175, 8: 100}
# psi at ft of cover.
E80_PSI = {2: 26.39, 3: 23.61, 4: 18.40, 5: 16.67, 6: 15.63, 7: 12.15, 8: 11.11, 10: 7.64,
           12: 5.56, 14: 4.17, 16: 3.47, 18: 2.78, 20: 2.08, 22: 1.91, 24: 1.74, 26: 1.39,
           28: 1.04, 30: 0.69}


def table(points, x):
    """Linear between the points, the last value beyond them."""
    below = max(point for point in points if point <= x)
    above = min((point for point in points if point > x), default=below)
    if above == below:
        return points[below]
    share = (x - below) / (above - below)
    return points[below] * (1 - share) + points[above] * share


def buoyancy(water, cover):
    """R_w and what the equation alone gives."""
    if water == 0:
        return 1.0, 1.0
    if cover == 0:
        return 0.67, None
    plain = 1 - 0.33 * water / cover
    if not math.isfinite(plain):
        return 0.67, None
    return max(0.67, plain), plain


def soil_support(exponent):
    """B'."""
    grown = math.exp(exponent)
    return grown / (grown + 4)


def external_load(water, cover, w, live, us):
    """q_t, R_w and R_w before its floor."""
    R_w, plain = buoyancy(water, cover)
    per_head, divisor = (0.433, 144) if us else (0.00981, 1000)
    return per_head * water + w * cover * R_w / divisor + live, R_w, plain


def head(depth_of_water, cover_m, host_diameter_mm):
    return [max(0.0, cover_m + host_diameter_mm / 1000 - depth_of_water)]


def groundwater_head_at_surface(cover_m, host_diameter_mm):
    return head(0, cover_m, host_diameter_mm)


def groundwater_head_at_crown(cover_m, host_diameter_mm):
    return [host_diameter_mm / 1000]


def groundwater_head_half_cover(cover_m, host_diameter_mm):
    return [0.5 * cover_m + host_diameter_mm / 1000]


def groundwater_head_below_surface(cover_m, host_diameter_mm, depth_below_surface_m):
    return head(depth_below_surface_m, cover_m, host_diameter_mm)


def groundwater_pressure_us(head_above_invert_ft):
    return [62.4 * head_above_invert_ft / 144]


def groundwater_pressure_si(head_above_invert_m):
    return [9.81 * head_above_invert_m / 1000]


def elastic_support_us(cover_ft):
    return [soil_support(0.065 * cover_ft)]


def elastic_support_si(cover_m):
    return [soil_support(0.213 * cover_m)]


def buoyancy_factor(groundwater_above_crown_m, cover_m):
    return list(buoyancy(groundwater_above_crown_m, cover_m))


def external_load_us(groundwater_above_crown_ft, cover_ft, soil_unit_weight_pcf, live_load_psi):
    return list(external_load(groundwater_above_crown_ft, cover_ft, soil_unit_weight_pcf,
                              live_load_psi, us=True))


def external_load_si(groundwater_above_crown_m, cover_m, soil_unit_weight_kn_per_m3,
                     live_load_mpa):
    return list(external_load(groundwater_above_crown_m, cover_m, soil_unit_weight_kn_per_m3,
                              live_load_mpa, us=False))


def live_load_hs20(cover_ft):
    # The tables are kept in psi to two decimals, as printed.
    psi = {cover: round(psf / 144 + 1e-9, 2) for cover, psf in HS20_PSF.items()}
    return [table({**psi, 9: 0.0}, cover_ft)]


def live_load_e80(cover_ft):
    return [table({**E80_PSI, 32: 0.0}, cover_ft)]


def under_centre(m, n):
    """Four times the stress under the corner of a rectangle at unit depth, after Holl."""
    a = m * m + n * n + 1
    product = m * n / math.sqrt(a)
    return 2 / math.pi * (math.atan(product) + product * (1 / (1 + m * m) + 1 / (1 + n * n)))


def impact(cover_ft):
    for limit, factor in ((1, 1.5), (2, 1.35), (3, 1.15)):
        if cover_ft <= limit:
            return factor
    return 1.0


def load_coefficient(half_width_ratio, half_length_ratio):
    return [under_centre(half_width_ratio, half_length_ratio)]


def wheel_load(wheel_load_lbf, effective_length_ft, host_diameter_in, cover_ft):
    width_ft = host_diameter_in / 12
    share = under_centre(width_ft / 2 / cover_ft, effective_length_ft / 2 / cover_ft)
    psf = share * wheel_load_lbf / (effective_length_ft * width_ft)
    return [psf / 144 * impact(cover_ft)]


def spread_load(surface_pressure_psf, loaded_width_ft, loaded_length_ft, cover_ft):
    share = under_centre(loaded_width_ft / 2 / cover_ft, loaded_length_ft / 2 / cover_ft)
    return [share * surface_pressure_psf / 144 * impact(cover_ft)]


def trench_load(cover_m, trench_width_m, soil_unit_weight_kn_per_m3, friction_coefficient):
    k = friction_coefficient
    C_d = -math.expm1(-2 * k * cover_m / trench_width_m) / (2 * k)
    return [C_d * soil_unit_weight_kn_per_m3 * trench_width_m / 1000]


def deflection(soil_load_mpa, live_load_mpa, bedding_constant, deflection_lag,
               short_term_flexural_modulus_mpa, dimension_ratio, soil_modulus_mpa):
    # E*I/r^3 with r = (D - t)/2 and t = 1, D = DR: E*8/(12*(DR - 1)^3).
    ring = short_term_flexural_modulus_mpa * 8 / (12 * (dimension_ratio - 1) ** 3)
    load = deflection_lag * soil_load_mpa + live_load_mpa
    return [100 * bedding_constant * load / (ring + 0.061 * soil_modulus_mpa)]
