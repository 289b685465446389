/*
 * Free water, liquid and ice, as in moisture/puddle.go without a gap that heat
 * crosses and without a film that flow thins. Constants of the place come from
 * the input file, those of water are repeated: vapour pressure over liquid
 * (IAPWS R7-97, eq 30) and over ice (R14-08, eq 6), heats of moisture/waterheat.go.
 */
#include <math.h>

#include "pulldown.h"

#define TRIPLE 273.16           /* K */
#define TRIPLE_PRESSURE 611.657 /* Pa */
#define GAS_CONSTANT 461.51805  /* of water, J/(kg K) */
#define FUSION 333444.9         /* J/kg */
#define LIQUID 4189.0           /* heat capacities, J/(kg K) */
#define ICE 2095.6
#define ICE_SLOPE 7.26 /* J/(kg K2) */
#define COLDEST 120.0  /* K */
#define HOTTEST 450.0

static double liquid_pressure(double t) {
    const double n1 = 0.11670521452767e4, n2 = -0.72421316703206e6, n3 = -0.17073846940092e2, n4 = 0.12020824702470e5;
    const double n5 = -0.32325550322333e7, n6 = 0.14915108613530e2, n7 = -0.48232657361591e4, n8 = 0.40511340542057e6;
    double u = t - 0.65017534844798e3, n = t * u - 0.23855557567849, nu = n * u, nn = n * n, uu = u * u;
    double a = nn + n1 * nu + n2 * uu, b = n3 * nn + n4 * nu + n5 * uu, c = n6 * nn + n7 * nu + n8 * uu;
    double x = 2 * c / (sqrt(b * b - 4 * a * c) - b);
    x *= x;
    return x * x * 1e6;
}

static double short_expm1(double x) {
    return x * (1 + x * (1.0 / 2 + x * (1.0 / 6 + x * (1.0 / 24 + x * (1.0 / 120)))));
}

static double series_expm1(double x) {
    double y = x * x, z = y * y, low = 1 + x * (1.0 / 2) + y * (1.0 / 6 + x * (1.0 / 24));
    double mid = 1.0 / 120 + x * (1.0 / 720) + y * (1.0 / 5040 + x * (1.0 / 40320));
    double high = 1.0 / 362880 + x * (1.0 / 3628800) + y * (1.0 / 39916800 + x * (1.0 / 479001600));
    return x * (low + z * (mid + z * high));
}

static double ice_pressure(double t) {
    const double a1 = -0.212144006e2, b1 = 0.333333333e-2, a2 = 0.273203819e2, b2 = 0.120666667e1;
    const double a3 = -0.610598130e1, b3 = 0.170333333e1;
    double theta = t / TRIPLE, l = log(theta), r = sqrt(theta);
    double d1 = short_expm1(b1 * l), e2 = series_expm1((b2 - 1) * l);
    double e3 = e2 + (1 + e2) * short_expm1((b3 - 1.5 - (b2 - 1)) * l);
    e3 = (theta - 1) / (1 + r) + r * e3;
    return TRIPLE_PRESSURE * exp((a2 + a3) * ((t - TRIPLE) / t) + (a1 * d1 / theta + (a2 * e2 + a3 * e3)));
}

static double heat_of(double t) {
    double d = t - TRIPLE;
    return d >= 0 ? LIQUID * d : -FUSION + d * (ICE + d * ICE_SLOPE / 2);
}

/* heat_of with the step at the triple point drawn out. */
static double wall_heat(double t) {
    const double half = 0.01;
    if (fabs(t - TRIPLE) >= half) return heat_of(t);
    double low = heat_of(TRIPLE - half), high = heat_of(TRIPLE + half);
    return low + (high - low) * (t - TRIPLE + half) / (2 * half);
}

/* x above a corner at 0, rounded. */
static double ramp(double x) {
    const double half = 50;
    if (x <= -half) return 0;
    if (x >= half) return x;
    double up = x + half;
    return up * up * up * (3 * half - x) / (16 * half * half * half);
}

static double temperature_of(double h) {
    double t = TRIPLE, warmer = ramp(h), below;
    if (warmer > 0) {
        t += warmer / LIQUID;
    } else if ((below = ramp(-(h + FUSION))) > 0) {
        t -= (ICE - sqrt(fmax(ICE * ICE - 2 * ICE_SLOPE * below, 0))) / ICE_SLOPE;
    }
    return fmin(fmax(t, COLDEST), HOTTEST);
}

/* w + ln w = x, and by how much ln w was off before the last step. */
static double omega(double x, double *off) {
    double w;
    if (x < 1) {
        double z = exp(x);
        if (z < 1e-9) {
            *off = 0;
            return z - z * z;
        }
        w = z * (1 + 4.0 / 3 * z) / (1 + z * (7.0 / 3 + 5.0 / 6 * z));
    } else if (x < 3) {
        double y = x - 1;
        w = 1 + y / 2 + y * y / 16 - y * y * y / 192;
    } else {
        double l = log(x);
        w = x - l + l / x;
    }
    double d = x - w - log(w), w1 = 1 + w, b = w1 * (w1 + 2.0 / 3 * d);
    *off = d;
    return w * (1 + d / w1 * (b - d / 2) / (b - d));
}

/* q + a (1 - exp(-q)) = b: the surface and the gas film in series. */
static double series_flux(double a, double b) {
    double linear = b / (1 + a), share = a / (1 + a), q = linear;
    if (fabs(linear) < 0.1) {
        q = linear * (1 + share * linear * (0.5 + (share / 2 - 1.0 / 6) * linear));
    } else if (a >= 0.2 || b <= -1) {
        double off, w = omega(log(a) + a - b, &off);
        q = w - (a - b);
        if (fabs(off) < 3e-3 && fabs(a - b) < 1e3 * fabs(q)) return q;
    }
    for (int i = 0; i < 6; i++) {
        double e = exp(-q), slope = 1 + a * e, newton = (q - b + a * (1 - e)) / slope;
        double step = newton / (1 + newton * a * e / (2 * slope));
        q -= step;
        if (fabs(step) < 2e-4) break;
    }
    return q;
}

/* The same, but with the tangent of exp(-q) where it is above 1000. */
static double bounded_flux(double a, double b) {
    const double most = 1e3;
    if (a == 0) return b;
    if (b < -log(most) - a * (most - 1)) return (b - a * (1 + most * (log(most) - 1))) / (1 + a * most);
    return series_flux(a, b);
}

/* Evaporation comes from the wet part, condensation goes everywhere; the corner
 * between the two is rounded over a thousandth of the flux full. */
static double faded(const puddle *w, double flux, double m, double full) {
    double wet = m / (fabs(m) + w->fade), corner = 1e-3 * full, back = 0;
    if (flux < 0) back = (flux - sqrt(flux * flux + corner * corner)) / 2;
    else if (corner > 0) back = -corner * corner / 2 / (flux + sqrt(flux * flux + corner * corner));
    return wet * flux + (1 - wet) * back;
}

void puddle_rates(const puddle *w, const double *state, double vapour, double dry, double *rates) {
    double ghost = w->fade / 1000, mass = state[0] + ghost;
    if (state[0] < 0) mass = ghost * ghost / (ghost - state[0]);
    double t = temperature_of((state[1] + ghost * wall_heat(w->wall)) / mass);
    double saturation = t < TRIPLE ? ice_pressure(t) : liquid_pressure(t);
    double kinetic = 2 * w->evaporation / (2 - w->evaporation) / sqrt(2 * M_PI * GAS_CONSTANT * t);
    double c = w->film / kinetic, flux = w->film * bounded_flux(dry / c, (saturation - vapour) / c);
    double full = saturation / (1 / kinetic + dry / w->film);
    double release = w->area * faded(w, flux, state[0], full);
    rates[0] = -release;
    rates[1] = w->supply * (w->wall - t) - release * (2500915.0 + 1830.0 * (t - TRIPLE));
}
