"""Flow in pipes, leak tests and the pressure in a liner, not from the Rust."""

import math

from . import Refused


def manning(bore, n, slope, factor=1.0):
    """Flow and velocity of a full pipe from area over wetted perimeter."""
    area, perimeter = math.pi * bore**2 / 4, math.pi * bore
    velocity = factor / n * (area / perimeter) ** (2 / 3) * slope**0.5
    return velocity * area, velocity


def full_flow(inside_diameter_m, roughness_n, slope):
    return list(manning(inside_diameter_m, roughness_n, slope))


def full_flow_us(inside_diameter_ft, roughness_n, slope):
    return list(manning(inside_diameter_ft, roughness_n, slope, 1.486))


def slope_for(velocity, bore, n, factor):
    return (velocity * n / factor) ** 2 * (4 / bore) ** (4 / 3)


def minimum_slope(inside_diameter_m, roughness_n, velocity_m_per_s):
    return [slope_for(velocity_m_per_s, inside_diameter_m, roughness_n, 1.0)]


def minimum_slope_us(inside_diameter_ft, roughness_n, velocity_ft_per_s):
    return [slope_for(velocity_ft_per_s, inside_diameter_ft, roughness_n, 1.486)]


def lined_flow(host_diameter_mm, total_wall_thickness_mm, roughness_before, roughness_after,
               slope):
    bore = host_diameter_mm - 2 * total_wall_thickness_mm
    if total_wall_thickness_mm > (host_diameter_mm - 50) / 2:
        raise Refused("the bore is too narrow")
    q_before, v_before = manning(host_diameter_mm / 1000, roughness_before, slope)
    q_after, v_after = manning(bore / 1000, roughness_after, slope)
    return [q_before, q_after, v_before, v_after, 100 * q_after / q_before]


def bore_loss(dimension_ratio):
    return ((dimension_ratio - 2) / dimension_ratio) ** (8 / 3)


def capacity_ratio(dimension_ratio, roughness_before, roughness_after):
    return [100 * bore_loss(dimension_ratio) * roughness_before / roughness_after]


def break_even_roughness(dimension_ratio):
    return [bore_loss(dimension_ratio)]


def segment(y):
    """Twice the half angle of the water's surface, and that angle less its sine."""
    theta = 4 * math.asin(math.sqrt(y))
    if theta > 0.5:
        return theta, theta - math.sin(theta)
    term, total = theta**3 / 6, 0.0
    for k in range(2, 12):
        total += term
        term *= -(theta**2) / (2 * k * (2 * k + 1))
    return theta, total


def partly_full(y):
    """A/A_f, R/R_f, V/V_f, Q/Q_f."""
    theta, above = segment(y)
    area = above / (2 * math.pi)
    radius = above / theta if theta else 0.0
    return area, radius, radius ** (2 / 3), area * radius ** (2 / 3)


def partial_flow(relative_depth):
    return list(partly_full(relative_depth))


def bisect(function, low, high):
    """Where a function changes its sign."""
    rising = function(low) <= 0
    for _ in range(80):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if (function(middle) <= 0) == rising:
            low = middle
        else:
            high = middle
    return (low + high) / 2


PEAK = math.sin(bisect(lambda t: 3 * t - 5 * t * math.cos(t) + 2 * math.sin(t), 4.5, 6.0) / 4) ** 2


def depth_for_flow(flow_ratio):
    if flow_ratio == 0:
        return [0.0, None]
    # The flow of a small depth goes with its power 13/6; without that bound small roots are lost.
    top = min(PEAK, 3 * flow_ratio ** (6 / 13))
    lower = bisect(lambda y: partly_full(y)[3] - flow_ratio, 0.0, top)
    upper = None
    if flow_ratio > 1:
        upper = bisect(lambda y: partly_full(y)[3] - flow_ratio, PEAK, 1.0)
    return [lower, upper]


def inflation_pressure(internal_pressure_kpa, groundwater_above_invert_m, sewage_above_invert_m):
    outside = max(9.81 * groundwater_above_invert_m, 9.81 * sewage_above_invert_m)
    return [internal_pressure_kpa - outside, outside]


def air_test_time(diameter_in, length_ft, pressure_drop_psi, loss_cfm_per_ft2):
    K = max(1.0, 0.000419 * diameter_in * length_ft)
    return [0.085 * diameter_in * K * pressure_drop_psi / loss_cfm_per_ft2]


def air_test_altitude_factor(altitude_m):
    return [math.exp(-5.25588 * math.log1p(-0.0000225577 * altitude_m))]


def air_test_pressure(start_pressure_psig, groundwater_above_invert_ft):
    start = start_pressure_psig + 0.433 * groundwater_above_invert_ft
    if start > 9:
        raise Refused("above 9 psig")
    return [start]


def exfiltration_us(diameter_in, length_ft, duration_h, limit_gal_per_in_mi_day):
    return [limit_gal_per_in_mi_day * diameter_in * (length_ft / 5280) * (duration_h / 24)]


def exfiltration_si(diameter_mm, length_m, duration_h, limit_l_per_mm_km_day):
    return [limit_l_per_mm_km_day * diameter_mm * (length_m / 1000) * (duration_h / 24)]
