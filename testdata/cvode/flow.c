/*
 * Law of flow through a passage, as in vacuum/flowlaw.go, flowslope.go and
 * mixture.go. All constants of gases and geometry come from the input file.
 */
#include <math.h>

#include "pulldown.h"

/* Reynolds numbers between which laminar changes to turbulent friction, and
 * the rarefaction parameter at which half of the inertia counts. */
#define LAMINAR 2300.0
#define TURBULENT 4000.0
#define INERTIAL_DELTA 10.0

/* Slip of a long tube: far value, then a and 1/b of every term. */
#define SLIP_FREE (8 / (3 * 1.772453850905516))
#define SLIP_FAR 1.018
static const double slip_a[4] = {0.02943871, 0.15183235, 0.15655665,
                                 SLIP_FREE - SLIP_FAR - 0.02943871 - 0.15183235 - 0.15655665};
static const double slip_b[4] = {1 / 0.01854493, 1 / 0.24106663, 1 / 2.11314206, 1 / 15.23295829};

/* Friction above laminar, and its derivative by the Reynolds number. */
static double excess(double re, double *slope) {
    const double blasius = 0.3164 / 64, at_top = 2.486574607198005 - 1;
    const double steep = 0.75 * 2.486574607198005 / TURBULENT, width = TURBULENT - LAMINAR;
    if (re <= LAMINAR) {
        *slope = 0;
        return 0;
    }
    if (re <= TURBULENT) {
        double u = (re - LAMINAR) / width;
        *slope = u / width * (2 * (3 * at_top - steep * width) + 3 * u * (steep * width - 2 * at_top));
        return u * u * (3 * at_top - steep * width + u * (steep * width - 2 * at_top));
    }
    double root = sqrt(re), phi = blasius * root * sqrt(root);
    *slope = 0.75 * phi / re;
    return phi - 1;
}

static double drop(const passage *l, double n, double r, double h, double per_mole, double *slope) {
    double dp = n * (r + n * h), by = r + 2 * n * h;
    for (int i = 0; i < l->segments; i++) {
        const segment *s = &l->s[i];
        double re = n * per_mole * s->reynolds, de, e = excess(re, &de), k = s->resist * s->tube;
        dp += n * k * e;
        by += k * (e + re * de);
    }
    *slope = by;
    return dp;
}

static double turbulent(const passage *l, double r, double h, double dp, double high, double per_mole) {
    double slope, rough = drop(l, high, r, h, per_mole, &slope) / high - high * h;
    double least = 2 * dp / (rough + sqrt(rough * rough + 4 * h * dp));
    double low = 0, n = sqrt(least * high);
    for (int i = 0; i < 60; i++) {
        double over = drop(l, n, r, h, per_mole, &slope) - dp;
        if (over > 0) high = n;
        else low = n;
        double next = n - over / slope;
        if (fabs(next - n) <= 1e-7 * n) return next;
        if (!(next > low && next < high)) next = (low + high) / 2;
        n = next;
    }
    return n;
}

double flow(passage *l, const gas *g, double p1, double p2, terms *t) {
    t->per_delta = 1 / (g->viscosity * g->speed);
    t->per_viscosity = t->per_delta * g->speed;
    t->per_mole = g->molar_mass * t->per_viscosity;
    double r = 0, h = 0;
    for (int i = 0; i < l->segments; i++) {
        segment *s = &l->s[i];
        double d1 = s->radius * p1 * t->per_delta, d2 = s->radius * p2 * t->per_delta;
        double f1 = (1 + d1 * slip_b[0]) * (1 + d2 * slip_b[0]), f2 = (1 + d1 * slip_b[1]) * (1 + d2 * slip_b[1]);
        double f3 = (1 + d1 * slip_b[2]) * (1 + d2 * slip_b[2]), f4 = (1 + d1 * slip_b[3]) * (1 + d2 * slip_b[3]);
        double f12 = f1 * f2, f34 = f3 * f4, below = f12 * f34;
        double above = SLIP_FAR * below + (slip_a[0] * f2 + slip_a[1] * f1) * f34 + (slip_a[2] * f4 + slip_a[3] * f3) * f12;
        double slip = s->lengthy * above + (1 - s->lengthy) * SLIP_FREE * below;
        s->resist = l->rt * below / (s->viscous * (p1 + p2) * t->per_viscosity * below + s->rarefied * g->speed * slip);
        r += s->resist;
        h += s->inertial * d1 / (d1 + INERTIAL_DELTA);
    }
    double dp = p1 - p2, per_x = dp / (p1 * p1);
    if (p2 > g->ratio * p1) {
        double d = 1 - g->ratio;
        per_x = d * d / ((1 - 2 * g->ratio) * p1 + p2);
    }
    t->nozzle = g->molar_mass * l->rt / g->choke * per_x;
    t->r = r;
    t->share_h = h;
    t->h = h * t->nozzle;
    double mean = l->linear * (p1 + p2) / 2;
    t->felt = l->linear == 0 ? dp : sqrt(dp * dp + mean * mean);
    double n = 2 * dp / (r + sqrt(r * r + 4 * t->h * t->felt));
    if (l->fastest * t->per_mole * n <= LAMINAR) return n;
    return turbulent(l, r, t->h * t->felt / dp, dp, n, t->per_mole);
}

/* Derivatives of the flow n by p1 and p2, from the derivatives of
 * n (R(n) + c h felt) = dp, where c = n/dp is the conductance. */
void flow_slopes(const passage *l, const gas *g, double p1, double p2, double n, const terms *t, double *by1, double *by2) {
    double dp = p1 - p2, felt = t->felt;
    double c = dp > 0 ? n / dp : 2 / (t->r + sqrt(t->r * t->r + 4 * t->h * felt));
    double by_n = 0, drop1 = 0, drop2 = 0, in1 = 0, of_reynolds = 0;
    for (int i = 0; i < l->segments; i++) {
        const segment *s = &l->s[i];
        double re = n * t->per_mole * s->reynolds, de, e = excess(re, &de);
        e *= s->tube;
        de *= s->tube * re;
        by_n += s->resist * (1 + e + de);
        of_reynolds += s->resist * de;
        double per_pa = s->radius * t->per_delta, d1 = p1 * per_pa, d2 = p2 * per_pa, s1 = 0, s2 = 0;
        for (int k = 0; k < 4; k++) {
            double g1 = 1 / (1 + d1 * slip_b[k]), g2 = 1 / (1 + d2 * slip_b[k]), v = slip_a[k] * slip_b[k] * g1 * g2;
            s1 -= v * g1;
            s2 -= v * g2;
        }
        double weight = -n * (1 + e) * s->resist * s->resist / l->rt;
        double viscous = s->viscous * t->per_viscosity, rarefied = s->rarefied * g->speed * s->lengthy * per_pa;
        drop1 += weight * (viscous + rarefied * s1);
        drop2 += weight * (viscous + rarefied * s2);
        double share = 1 / (d1 + INERTIAL_DELTA);
        in1 += s->inertial * INERTIAL_DELTA * share * share * per_pa;
    }
    double k = g->molar_mass * l->rt / g->choke, z1, z2; /* of the nozzle */
    if (p2 > g->ratio * p1) {
        double den = 1 / ((1 - 2 * g->ratio) * p1 + p2);
        z1 = -t->nozzle * den * (1 - 2 * g->ratio);
        z2 = -t->nozzle * den;
    } else {
        k /= p1 * p1;
        z1 = k * (2 * p2 - p1) / p1;
        z2 = -k;
    }
    double share = felt > 0 ? dp / felt : 1, mean = felt > 0 ? l->linear * l->linear * (p1 + p2) / (4 * felt) : 0;
    double rate = by_n + 2 * c * felt * t->h, square = n * c * felt;
    double by_drop = c * (rate - of_reynolds - n * t->h * share), by_mean = -n * c * t->h * mean;
    *by1 = (by_drop + by_mean - drop1 - square * (in1 * t->nozzle + t->share_h * z1)) / rate;
    *by2 = (-by_drop + by_mean - drop2 - square * t->share_h * z2) / rate;
}

/* Properties at mole fractions x: viscosity by Wilke's rule, the rest linear. */
static gas blend(const passage *l, const double *x) {
    gas b = {0, 0, 0, 0, 0};
    for (int i = 0; i < SPECIES; i++) {
        const gas *g = &l->pure[i];
        double sum = 0;
        for (int j = 0; j < SPECIES; j++) sum += x[j] * l->wilke[i][j];
        b.viscosity += x[i] * g->viscosity / sum;
        b.speed += x[i] * g->speed;
        b.molar_mass += x[i] * g->molar_mass;
        b.choke += x[i] * g->choke;
        b.ratio += x[i] * g->ratio;
    }
    return b;
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
    double x[SPECIES], c[SPECIES], average = 0, sum = total1 + total2;
    double pm = sum / 2, dp = total1 - total2, per_total = 1 / total1;
    for (int i = 0; i < SPECIES; i++) x[i] = (p1[i] + p2[i]) / sum;
    gas b = blend(l, x);
    terms t;
    double n = flow(l, &b, total1, total2, &t);
    for (int i = 0; i < SPECIES; i++) {
        c[i] = 1 / (l->rt * (l->drift[i] + l->diffusive * pm * l->per_dp));
        average += x[i] * c[i];
    }
    double advection = n - average * dp;
    for (int i = 0; i < SPECIES; i++) {
        double back = bernoulli(advection / (c[i] * pm));
        double drive = (p1[i] * total2 - p2[i] * total1) * per_total;
        out[i] = sign * (p1[i] * per_total * (advection + dp * c[i]) + c[i] * drive * back);
    }
}
