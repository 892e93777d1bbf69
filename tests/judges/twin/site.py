"""Ordering, pulling in and carrying, not from the Rust."""

import math
from fractions import Fraction

from . import Refused

GRAVITY = 9.80665


def order_wall(required_wall_thickness_mm, minimum_wall_thickness_mm, wall_step_mm):
    hundredths = [round(value * 100) for value in (minimum_wall_thickness_mm, wall_step_mm)]
    for value, whole in zip((minimum_wall_thickness_mm, wall_step_mm), hundredths):
        if abs(value * 100 - whole) >= 1e-6:
            raise Refused("no whole hundredths")
    least, step = hundredths
    asked = Fraction(required_wall_thickness_mm) * 100
    wall = least
    if asked > least:
        wall += -((least - asked) // step) * step
        # One step less where the wall asked for lies on the grid but for the last digits.
        if wall - step >= least and asked - (wall - step) <= Fraction(step, 10**9):
            wall -= step
    return [wall / 100]


def nominal_wall(required_wall_thickness_mm, made_diameter_mm, installed_diameter_mm,
                 tolerance_percent):
    # What is ordered loses its tolerance and, by constant volume, what the tube is stretched.
    least = required_wall_thickness_mm
    if installed_diameter_mm > made_diameter_mm:
        least = least * installed_diameter_mm / made_diameter_mm
    return [100 * least / (100 - tolerance_percent)]


def stretched_wall(nominal_wall_thickness_mm, made_diameter_mm, installed_diameter_mm):
    # Constant volume: t*D stays.
    return [nominal_wall_thickness_mm / installed_diameter_mm * made_diameter_mm]


def toleranced_wall(required_wall_thickness_mm, tolerance_percent):
    return [100 * required_wall_thickness_mm / (100 - tolerance_percent)]


def wall_limits(required_wall_thickness_mm, ordered_wall_thickness_mm):
    required, ordered = required_wall_thickness_mm, ordered_wall_thickness_mm
    return [required, required, required * 7 / 8, ordered * 19 / 20, required,
            max(required * 4 / 5, 3.0)]


def liner_mass(density_kg_per_m3, host_diameter_mm, wall_thickness_mm, films_percent):
    # Outer circle less inner circle.
    outer, inner = host_diameter_mm / 2, host_diameter_mm / 2 - wall_thickness_mm
    area_m2 = math.pi * (outer - inner) * (outer + inner) / 1e6
    return [density_kg_per_m3 * area_m2 * (100 + films_percent) / 100]


def along(slope_percent, friction):
    """Force for each unit of weight: friction and slope, on a triangle of sides 100 and slope."""
    side = math.hypot(100, slope_percent)
    return (friction * 100 + slope_percent) / side


def winch_force(mass_kg_per_m, length_m, friction_coefficient, uphill_slope_percent,
                total_bend_degrees):
    straight = mass_kg_per_m * length_m * GRAVITY * along(uphill_slope_percent,
                                                          friction_coefficient)
    bends = math.exp(friction_coefficient * math.pi * total_bend_degrees / 180)
    return [max(0.0, straight) * bends / 1000]


def street_side_pull(mass_kg_per_m, lead_length_m, segment_length_m, friction_coefficient,
                     uphill_slope_percent, total_bend_degrees, certificate_force_kn):
    length = segment_length_m + lead_length_m
    force, = winch_force(mass_kg_per_m, length, friction_coefficient, uphill_slope_percent,
                         total_bend_degrees)
    return [length, force, force / certificate_force_kn * 100]


def pull_limit(force_kn, certificate_force_kn):
    return [force_kn / certificate_force_kn * 100, certificate_force_kn - force_kn]


def stretch(laid_length_m, pulled_length_m):
    return [(pulled_length_m - laid_length_m) / laid_length_m * 100]


def carry_people(mass_kg_per_m, length_m, spacing_m, limit_kg):
    load = spacing_m * mass_kg_per_m
    people = math.ceil(length_m / spacing_m)
    if people > 1 and length_m / spacing_m - (people - 1) <= 1e-9:
        people -= 1
    return [load, load / limit_kg * 100, people, mass_kg_per_m * length_m]


def carry_crate(mass_kg_per_m, length_m, crate_kg, rigging_kg, capacity_at_reach_kg):
    load = crate_kg + rigging_kg + length_m * mass_kg_per_m
    return [load, load / capacity_at_reach_kg * 100]


def carry_rollers(mass_kg_per_m, length_m, roller_spacing_m, rated_load_kg, rolling_coefficient,
                  uphill_slope_percent):
    load = roller_spacing_m * mass_kg_per_m
    force = mass_kg_per_m * length_m * GRAVITY * along(uphill_slope_percent, rolling_coefficient)
    return [load, load / rated_load_kg * 100, force / 1000]


def carry_cart(mass_kg_per_m, length_m, cart_kg, rated_load_kg, rolling_coefficient,
               uphill_slope_percent):
    load = cart_kg + length_m * mass_kg_per_m
    force = load * GRAVITY * along(uphill_slope_percent, rolling_coefficient)
    return [load, load / rated_load_kg * 100, force / 1000]
