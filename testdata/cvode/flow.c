/*
 * Law of flow through a passage, as in vacuum/flowlaw.go, flowslope.go,
 * flowspecies.go, tube.go and mixture.go; friction.c has its turbulence. All
 * constants of gases and geometry come from the input file.
 */
#include <math.h>

#include "pulldown.h"

/* Rarefaction parameter at which half of the inertia counts. */
#define INERTIAL_DELTA 10.0

/* Slip of a long tube, s = FAR + sum of a/(1 + delta/b)^2: far value and the one at
 * delta = 0, then a and 1/b of every term. */
#define SLIP_FREE (8 / (3 * 1.772453850905516))
#define SLIP_FAR 1.018
#define A1 0.02943871
#define A2 0.15183235
#define A3 0.15655665
#define A4 (SLIP_FREE - SLIP_FAR - A1 - A2 - A3)
#define B1 (1 / 0.01854493)
#define B2 (1 / 0.24106663)
#define B3 (1 / 2.11314206)
#define B4 (1 / 15.23295829)

void prepare_flow(passage *l, double fastest) {
    for (int i = 0; i < SPECIES; i++) l->pure[i].per_delta = 1 / (l->pure[i].viscosity * l->pure[i].speed);
    for (int i = 0; i < l->segments; i++) {
        segment *s = &l->s[i];
        s->free = s->rarefied * (SLIP_FREE + s->lengthy * (SLIP_FAR - SLIP_FREE));
        s->bent = s->rarefied * s->lengthy;
    }
    prepare_friction(l, fastest);
}

/* (1 + d1/b)(1 + d2/b) of every term. */
static inline void slip_factors(double d1, double d2, double *f) {
    double sum = d1 + d2, product = d1 * d2;
    f[0] = 1 + sum * B1 + product * (B1 * B1);
    f[1] = 1 + sum * B2 + product * (B2 * B2);
    f[2] = 1 + sum * B3 + product * (B3 * B3);
    f[3] = 1 + sum * B4 + product * (B4 * B4);
}

/* Laminar and molecular resistance of a segment: the mean slip as a fraction, so
 * that there is one division. */
static inline double resistance(const passage *l, const segment *s, const gas *g, double dense, double d1, double d2) {
    double f[4];
    slip_factors(d1, d2, f);
    double f12 = f[0] * f[1], f34 = f[2] * f[3], below = f12 * f34;
    double above = (A1 * f[1] + A2 * f[0]) * f34 + (A3 * f[3] + A4 * f[2]) * f12;
    return l->rt * below / ((s->viscous * dense + s->free * g->speed) * below + s->bent * g->speed * above);
}

double flow(passage *l, const gas *g, double p1, double p2) {
    point *at = &l->last;
    double per_viscosity = g->per_delta * g->speed, dense = (p1 + p2) * per_viscosity, r = 0, h = 0;
    for (int i = 0; i < l->segments; i++) {
        segment *s = &l->s[i];
        double d1 = s->radius * p1 * g->per_delta, d2 = s->radius * p2 * g->per_delta;
        s->resist = resistance(l, s, g, dense, d1, d2);
        r += s->resist;
        h += s->inertial * d1 / (d1 + INERTIAL_DELTA);
    }
    double dp = p1 - p2, above = dp, below = p1 * p1; /* of the nozzle */
    if (p2 > g->ratio * p1) {
        double d = 1 - g->ratio;
        above = d * d;
        below = (1 - 2 * g->ratio) * p1 + p2;
    }
    double mean = l->linear * (p1 + p2) / 2;
    *at = (point){
        .p1 = p1, .p2 = p2, .r = r, .share_h = h,
        .nozzle = g->molar_mass * l->rt * above / (g->choke * below),
        .felt = l->linear == 0 ? dp : sqrt(dp * dp + mean * mean),
        .per_mole = g->molar_mass * per_viscosity,
    };
    double inert = h * at->nozzle * at->felt, goal = dp * at->per_mole;
    if (l->critical * (r * goal + l->critical * inert) < goal * goal)
        at->n = turbulent(l, r, inert / goal, goal) / at->per_mole;
    else
        at->n = 2 * dp / (r + sqrt(r * r + 4 * inert));
    return at->n;
}

/* The slip's derivatives by d1 and d2: every term a/f has a/(b f^2) (1 + d2/b) for
 * the one by d1. One division serves all. */
static inline void slip_slopes(double d1, double d2, double *by1, double *by2) {
    double f[4];
    slip_factors(d1, d2, f);
    double f12 = f[0] * f[1], f34 = f[2] * f[3], per = 1 / (f12 * f34);
    double per1 = per * f34 * f[1], per2 = per * f34 * f[0], per3 = per * f12 * f[3], per4 = per * f12 * f[2];
    double g1 = A1 * per1 * per1 * B1, g2 = A2 * per2 * per2 * B2, g3 = A3 * per3 * per3 * B3, g4 = A4 * per4 * per4 * B4;
    double flat = g1 + g2 + g3 + g4, steep = g1 * B1 + g2 * B2 + g3 * B3 + g4 * B4;
    *by1 = -flat - steep * d2;
    *by2 = -flat - steep * d1;
}

/* Derivatives of the flow n by p1 and p2, from the derivatives of
 * n (R(n) + c h felt) = dp, where c = n/dp is the conductance. What flow left
 * behind is taken again where it was for the same pressures. */
void flow_slopes(passage *l, const gas *g, double p1, double p2, double *by1, double *by2) {
    if (l->last.p1 != p1 || l->last.p2 != p2) flow(l, g, p1, p2);
    const point *at = &l->last;
    double dp = p1 - p2, felt = at->felt, n = at->n, h = at->share_h * at->nozzle;
    double c = dp > 0 ? n / dp : 2 / (at->r + sqrt(at->r * at->r + 4 * h * felt));
    double per_viscosity = g->per_delta * g->speed, m = n * at->per_mole, m34 = 0;
    double by_n = 0, drop1 = 0, drop2 = 0, in1 = 0, of_reynolds = 0, weight = -n / l->rt;
    if (m > l->critical) {
        double root = sqrt(m);
        m34 = root * sqrt(root);
    }
    for (int i = 0; i < l->segments; i++) {
        const segment *s = &l->s[i];
        double r = s->resist, de, e = excess(s, m, m34, &de), s1, s2;
        by_n += r * (1 + e + de);
        of_reynolds += r * de;
        double per_pa = s->radius * g->per_delta, d1 = p1 * per_pa;
        slip_slopes(d1, p2 * per_pa, &s1, &s2);
        double share = weight * (1 + e) * r * r;
        double viscous = s->viscous * per_viscosity, rarefied = s->bent * g->speed * per_pa;
        drop1 += share * (viscous + rarefied * s1);
        drop2 += share * (viscous + rarefied * s2);
        double per = 1 / (d1 + INERTIAL_DELTA);
        in1 += s->inertial * INERTIAL_DELTA * per * per * per_pa;
    }
    double z1, z2; /* of the nozzle */
    if (p2 > g->ratio * p1) {
        z2 = -at->nozzle / ((1 - 2 * g->ratio) * p1 + p2);
        z1 = z2 * (1 - 2 * g->ratio);
    } else {
        z2 = -g->molar_mass * l->rt / (g->choke * p1 * p1);
        z1 = -z2 * (2 * p2 - p1) / p1;
    }
    double share = felt > 0 ? dp / felt : 1, mean = felt > 0 ? l->linear * l->linear * (p1 + p2) / (4 * felt) : 0;
    double rate = by_n + 2 * c * felt * h, square = n * c * felt;
    double by_drop = c * (rate - of_reynolds - n * h * share), by_mean = -n * c * h * mean;
    *by1 = (by_drop + by_mean - drop1 - square * (in1 * at->nozzle + at->share_h * z1)) / rate;
    *by2 = (-by_drop + by_mean - drop2 - square * at->share_h * z2) / rate;
}

/* Properties at mole fractions x and y: viscosity by Wilke's rule as one fraction,
 * the rest linear. */
static inline gas blend(const passage *l, double x, double y) {
    const gas *a = &l->pure[0], *b = &l->pure[1];
    double sum_x = x + y * l->wilke[0][1], sum_y = x * l->wilke[1][0] + y;
    double above = x * a->viscosity * sum_y + y * b->viscosity * sum_x, below = sum_x * sum_y;
    double speed = x * a->speed + y * b->speed;
    return (gas){
        .speed = speed, .per_delta = below / (above * speed),
        .molar_mass = x * a->molar_mass + y * b->molar_mass,
        .choke = x * a->choke + y * b->choke, .ratio = x * a->ratio + y * b->ratio,
    };
}

/* x/(exp(x) - 1). */
static double bernoulli(double x) {
    if (x > 40) return 0;
    if (fabs(x) < 0.1) {
        double y = x * x;
        return 1 - x / 2 + y * (1.0 / 12 - y * (1.0 / 720 - y * (1.0 / 30240)));
    }
    return x / (exp(x) - 1);
}

/* The total is that of a gas of the mean composition of both ends; its split is
 * advection with the upstream composition, the difference in molecular drift,
 * and diffusion against the flow. Conductances of the species combine the
 * molecular and the binary one (Bosanquet). */
void flow_of_two(passage *l, const double *p1, const double *p2, double *out) {
    double total1 = p1[0] + p1[1], total2 = p2[0] + p2[1], sign = 1;
    if (total2 > total1) {
        const double *p = p1;
        double total = total1;
        p1 = p2, p2 = p, total1 = total2, total2 = total, sign = -1;
    }
    out[0] = out[1] = 0;
    if (!(total1 > LEAST_PRESSURE)) return;
    double x[SPECIES], c[SPECIES], resist[SPECIES], average = 0, sum = total1 + total2, per_sum = 1 / sum;
    double pm = sum / 2, dp = total1 - total2, per_total = 1 / total1;
    for (int i = 0; i < SPECIES; i++) x[i] = (p1[i] + p2[i]) * per_sum;
    gas b = blend(l, x[0], x[1]);
    double n = flow(l, &b, total1, total2);
    for (int i = 0; i < SPECIES; i++) {
        resist[i] = l->rt * (l->drift[i] + l->diffusive * pm * l->per_dp);
        c[i] = 1 / resist[i];
        average += x[i] * c[i];
    }
    double advection = n - average * dp, per_mean = advection / pm;
    for (int i = 0; i < SPECIES; i++) {
        double back = bernoulli(per_mean * resist[i]);
        double drive = (p1[i] * total2 - p2[i] * total1) * per_total;
        out[i] = sign * (p1[i] * per_total * (advection + dp * c[i]) + c[i] * drive * back);
    }
}
