"""Make the polynomial tables in src/headrace/physics/fluids/data from reference equations.

Run by hand: python tools/make_property_tables.py. It needs CoolProp (development only), rewrites what stands
between the "begin" and "end" marks of each file, and prints the largest relative residual of every table,
taken on a grid that the fit did not see.
"""

from collections.abc import Callable
from pathlib import Path

import CoolProp
import numpy as np
from numpy.polynomial import chebyshev as ch
from numpy.polynomial import polynomial as po

DATA = Path(__file__).parents[1] / "src" / "headrace" / "physics" / "fluids" / "data"

# Viscosity of ethanol-water [mPa s] by per cent of ethanol by mass (columns) and temperature (rows).
# Bingham and Jackson, Bull. Bureau of Standards 14 (1917) 59, read in a public reprint of the table.
BJ_MASS = np.arange(0, 101, 10) / 100
BJ_CELSIUS = np.array([0, 10, 20, 30, 40, 50, 60])
BJ = np.array(
    [
        [1.792, 3.311, 5.319, 6.94, 7.14, 6.58, 5.75, 4.762, 3.690, 2.732, 1.773],
        [1.308, 2.179, 3.165, 4.05, 4.39, 4.18, 3.77, 3.268, 2.710, 2.101, 1.466],
        [1.005, 1.538, 2.183, 2.71, 2.91, 2.87, 2.67, 2.370, 2.008, 1.610, 1.200],
        [0.801, 1.160, 1.553, 1.87, 2.02, 2.02, 1.93, 1.767, 1.531, 1.279, 1.003],
        [0.656, 0.907, 1.160, 1.368, 1.482, 1.499, 1.447, 1.344, 1.203, 1.035, 0.834],
        [0.549, 0.734, 0.907, 1.050, 1.132, 1.155, 1.127, 1.062, 0.968, 0.848, 0.702],
        [0.469, 0.609, 0.736, 0.834, 0.893, 0.913, 0.902, 0.856, 0.789, 0.704, 0.592],
    ]
)


class Liquid:
    """A fluid of the reference library, held to its liquid branch."""

    def __init__(self, name: str) -> None:
        self.state = CoolProp.AbstractState("HEOS", name)

    def saturation(self, temp: float) -> float:
        self.state.unspecify_phase()
        self.state.update(CoolProp.QT_INPUTS, 0, temp)
        return self.state.p()

    def at(self, temp: float, p_abs: float, what: str) -> float:
        self.state.specify_phase(CoolProp.iphase_liquid)
        self.state.update(CoolProp.PT_INPUTS, p_abs, temp)
        value = getattr(self.state, what)()
        self.state.unspecify_phase()
        return value


def nodes(low: float, high: float, n: int) -> np.ndarray:
    return 0.5 * (low + high) + 0.5 * (high - low) * np.cos(np.pi * (np.arange(n) + 0.5) / n)


def to_powers(coefficients: np.ndarray) -> np.ndarray:
    """Chebyshev to power basis, both axes."""
    for axis in range(coefficients.ndim):
        coefficients = np.apply_along_axis(
            lambda c, n=coefficients.shape[axis]: np.pad(ch.cheb2poly(c), (0, n))[:n], axis, coefficients
        )
    return coefficients


def fit_tp(
    liquid: Liquid,
    what: str,
    temps: tuple[float, float],
    p_high: float,
    degrees: tuple[int, int],
    log: bool,
) -> dict[str, object]:
    """Least squares on Chebyshev nodes between the vapour pressure and p_high."""
    (t_low, t_high), (nt, npr) = temps, degrees
    t_mid, t_half, p_mid, p_half = (t_low + t_high) / 2, (t_high - t_low) / 2, p_high / 2, p_high / 2

    def grid(n_t: int, n_p: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        t, p, v = [], [], []
        for temp in nodes(t_low, t_high, n_t):
            for p_abs in nodes(liquid.saturation(temp) * 1.0001, p_high, n_p):
                t.append(temp)
                p.append(p_abs)
                v.append(liquid.at(temp, p_abs, what))
        return np.array(t), np.array(p), np.array(v)

    t, p, v = grid(3 * nt, 4 * npr)
    target = np.log(v) if log else v
    vander = ch.chebvander2d((t - t_mid) / t_half, (p - p_mid) / p_half, degrees)
    weight = np.ones_like(v) if log else 1 / v
    solution = np.linalg.lstsq(vander * weight[:, None], target * weight, rcond=None)[0]
    powers = to_powers(solution.reshape(nt + 1, npr + 1))
    t, p, v = grid(4 * nt + 1, 4 * npr + 3)
    fitted = po.polyval2d((t - t_mid) / t_half, (p - p_mid) / p_half, powers)
    residual = np.max(np.abs((np.exp(fitted) if log else fitted) / v - 1))
    scale = {"temp_mid": t_mid, "temp_half": t_half, "p_mid": p_mid, "p_half": p_half}
    return {**scale, "residual": residual, "coefficients": powers}


def fit_t(
    law: Callable[[float], float], temps: tuple[float, float], degree: int, log_inverse: bool
) -> dict[str, object]:
    """Along temperature alone: value against T, or logarithm of the value against 1/T."""
    low, high = sorted(1 / t if log_inverse else t for t in temps)
    mid, half = (low + high) / 2, (high - low) / 2

    def grid(n: int) -> tuple[np.ndarray, np.ndarray]:
        x = nodes(low, high, n)
        return x, np.array([law(1 / one if log_inverse else one) for one in x])

    x, v = grid(3 * degree)
    powers = ch.cheb2poly(ch.chebfit((x - mid) / half, np.log(v) if log_inverse else v, degree))
    x, v = grid(5 * degree + 2)
    fitted = po.polyval((x - mid) / half, powers)
    residual = np.max(np.abs((np.exp(fitted) if log_inverse else fitted) / v - 1))
    prefix = "inv_temp" if log_inverse else "temp"
    scale = {f"{prefix}_mid": mid, f"{prefix}_half": half}
    return {**scale, "residual": residual, "coefficients": powers[:, None]}


def fit_bingham_jackson(degree_t: int = 3, degree_w: int = 6) -> dict[str, object]:
    """ln mu [Pa s] as a polynomial in 1/T and the mass fraction."""
    inverse = 1 / (BJ_CELSIUS + 273.15)
    low, high = inverse.min(), inverse.max()
    mid, half = (low + high) / 2, (high - low) / 2
    x, w = np.meshgrid((inverse - mid) / half, BJ_MASS, indexing="ij")
    target = np.log(BJ * 1e-3)
    vander = po.polyvander2d(x.ravel(), w.ravel(), (degree_t, degree_w))
    solution = np.linalg.lstsq(vander, target.ravel(), rcond=None)[0].reshape(degree_t + 1, degree_w + 1)
    off = np.exp(po.polyval2d(x, w, solution) - target) - 1
    print(f"    ethanol-water viscosity: rms {np.sqrt(np.mean(off**2)):.2e}")
    scale = {"inv_temp_mid": mid, "inv_temp_half": half}
    return {**scale, "residual": np.max(np.abs(off)), "by_mass_fraction": solution}


def text(made: dict[str, object]) -> str:
    """The TOML lines of one table."""
    lines = [f"# largest relative residual against the source: {made['residual']:.1e}"]
    for key, value in made.items():
        if key == "residual":
            continue
        if isinstance(value, np.ndarray):
            rows = ",\n".join("    [" + ", ".join(f"{one:.12e}" for one in row) + "]" for row in value)
            lines.append(f"{key} = [\n{rows},\n]")
        else:
            lines.append(f"{key} = {float(value)!r}")
    return "\n".join(lines)


def put(file: str, section: str, made: dict[str, object]) -> None:
    """Write one table between the marks of its section."""
    path = DATA / file
    head, found, rest = path.read_text(encoding="utf-8").partition(f"[{section}]\n")
    before, begin, after = rest.partition("# made by tools/make_property_tables.py: begin\n")
    _, end, tail = after.partition("# end\n")
    if not (found and begin and end):
        raise SystemExit(f"{file}: no marks in [{section}]")
    path.write_text(f"{head}{found}{before}{begin}{text(made)}\n{end}{tail}", encoding="utf-8")
    print(f"{file:22} {section:16} residual {made['residual']:.1e}")


def main() -> None:
    water, oxygen, ethanol = Liquid("Water"), Liquid("Oxygen"), Liquid("Ethanol")
    cold, cryo, bench = (273.16, 373.15), (60.0, 120.0), (273.16, 333.15)
    put("water.toml", "rho", fit_tp(water, "rhomass", cold, 20e6, (9, 3), log=False))
    put("water.toml", "mu", fit_tp(water, "viscosity", cold, 20e6, (7, 2), log=True))
    put("lox.toml", "rho", fit_tp(oxygen, "rhomass", cryo, 12e6, (7, 4), log=False))
    put("lox.toml", "mu", fit_tp(oxygen, "viscosity", cryo, 12e6, (5, 2), log=True))
    put("lox.toml", "p_vap", fit_t(oxygen.saturation, cryo, 8, log_inverse=True))

    def kappa(liquid: Liquid) -> Callable[[float], float]:
        return lambda temp: liquid.at(temp, 2e6, "isothermal_compressibility")

    name = "ethanol-water.toml"
    put(name, "rho.ethanol", fit_t(kappa(ethanol), bench, 3, log_inverse=False))
    put(name, "rho.water", fit_t(kappa(water), bench, 3, log_inverse=False))
    put(name, "mu", fit_bingham_jackson())
    put(name, "p_vap.ethanol", fit_t(ethanol.saturation, bench, 4, log_inverse=True))
    print("CoolProp", CoolProp.__version__, "numpy", np.__version__)


if __name__ == "__main__":
    main()
