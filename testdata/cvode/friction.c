/*
 * Turbulent friction of a passage, as in vacuum/friction.go. Everything is a
 * function of m = n M/mu, in mol/s times kg/mol over Pa s, so that one root serves
 * all segments: the Reynolds number is m times the segment's reynolds.
 */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "pulldown.h"

/* Reynolds numbers between which laminar changes to turbulent friction. */
#define LAMINAR 2300.0
#define TURBULENT 4000.0
#define WIDTH (TURBULENT - LAMINAR)
#define NEVER 1e100 /* more than any m */

/* Friction over laminar, less one: BLASIUS Re^(3/4) - 1 from TURBULENT up, and
 * below u^3 (C3 + C4 u + C5 u^2), which meets both ends in value, slope and
 * curvature; u goes from 0 to 1. */
#define BLASIUS (0.3164 / 64)
#define AT_TOP (2.486574607198005 - 1)
#define STEEP (0.75 * (AT_TOP + 1) / TURBULENT * WIDTH)
#define BEND (-0.25 * STEEP / TURBULENT * WIDTH)
#define C3 (10 * AT_TOP - 4 * STEEP + BEND / 2)
#define C4 (-15 * AT_TOP + 7 * STEEP - BEND)
#define C5 (6 * AT_TOP - 3 * STEEP + BEND / 2)

void prepare_friction(passage *l, double fastest) {
    l->critical = fastest > 0 ? LAMINAR / fastest : NEVER;
    l->critical_root = sqrt(sqrt(l->critical));
    for (int i = 0; i < l->segments; i++) {
        segment *s = &l->s[i];
        double root = sqrt(s->reynolds);
        s->laminar = s->tube > 0 ? LAMINAR / s->reynolds : NEVER;
        s->turbulent = s->tube > 0 ? TURBULENT / s->reynolds : NEVER;
        s->blasius = s->tube * BLASIUS * root * sqrt(root);
    }
}

double excess(const segment *s, double m, double m34, double *slope) {
    if (m < s->laminar) {
        *slope = 0;
        return 0;
    }
    if (m < s->turbulent) {
        double re = m * s->reynolds, u = (re - LAMINAR) / WIDTH;
        *slope = s->tube * re * (u * u / WIDTH * (3 * C3 + u * (4 * C4 + u * 5 * C5)));
        return s->tube * (u * u * u * (C3 + u * (C4 + u * C5)));
    }
    double phi = s->blasius * m34;
    *slope = 0.75 * phi;
    return phi - s->tube;
}

/* Pressure that a flow m takes, times M/mu, for m between from and to:
 * m (constant + blasius m^(3/4) + inertia m + sum of bent[i] (m - centre)^i).
 * bent is the polynomial of the segments between laminar and turbulent flow. */
typedef struct {
    double from, to, constant, blasius, inertia, centre, bent[6];
    int bends;
} friction;

/* Adds k times the polynomial about u. */
static void bend(friction *f, double k, double u, double du) {
    const double about[6] = {
        u * u * u * (C3 + u * (C4 + u * C5)),
        u * u * (3 * C3 + u * (4 * C4 + u * 5 * C5)),
        u * (3 * C3 + u * (6 * C4 + u * 10 * C5)),
        C3 + u * (4 * C4 + u * 10 * C5),
        C4 + u * 5 * C5,
        C5,
    };
    f->bends = 1;
    for (int i = 0; i < 6; i++, k *= du) f->bent[i] += k * about[i];
}

/* Sum over the segments, each by the kind of flow that it has at m. */
static friction friction_at(const passage *l, double m, double r, double h) {
    friction f = {.to = INFINITY, .constant = r, .inertia = h, .centre = m};
    for (int i = 0; i < l->segments; i++) {
        const segment *s = &l->s[i];
        if (m < s->laminar) {
            f.to = fmin(f.to, s->laminar);
        } else if (m < s->turbulent) {
            f.from = fmax(f.from, s->laminar);
            f.to = fmin(f.to, s->turbulent);
            bend(&f, s->resist * s->tube, (m * s->reynolds - LAMINAR) / WIDTH, s->reynolds / WIDTH);
        } else {
            f.from = fmax(f.from, s->turbulent);
            f.constant -= s->resist * s->tube;
            f.blasius += s->resist * s->blasius;
        }
    }
    return f;
}

/* Value at m = q^4, with q times its first and q^2 times its second derivative by q. */
static double value(const friction *f, double q, double *first, double *second) {
    double square = q * q, m = square * square;
    double a = m * f->constant, b = m * (square * q * f->blasius), c = m * m * f->inertia, v = a + b + c;
    *first = 4 * a + 7 * b + 8 * c;
    *second = 12 * a + 42 * b + 56 * c;
    if (f->bends) {
        const double *k = f->bent;
        double x = m - f->centre;
        double p0 = k[0] + x * (k[1] + x * (k[2] + x * (k[3] + x * (k[4] + x * k[5]))));
        double p1 = m * (k[1] + x * (2 * k[2] + x * (3 * k[3] + x * (4 * k[4] + x * 5 * k[5]))));
        double p2 = m * m * (2 * k[2] + x * (6 * k[3] + x * (12 * k[4] + x * 20 * k[5])));
        v += m * p0;
        *first += m * 4 * (p0 + p1);
        *second += m * (12 * p0 + 44 * p1 + 16 * p2);
    }
    return v;
}

/* Root of order 8 of x >= 1 to 6 %: the bits of a double are its logarithm, nearly. */
static double rough_eighth_root(double x) {
    uint64_t bits;
    memcpy(&bits, &x, sizeof bits);
    bits = bits / 8 + 7 * (UINT64_C(0x3ff) << 49); /* and seven eighths of the bits of 1 */
    memcpy(&x, &bits, sizeof x);
    return x;
}

/* By Halley's method inside a bracket, in q = m^(1/4), in which there are powers only. */
double turbulent(const passage *l, double r, double h, double goal) {
    double ratio = goal / (l->critical * (r + l->critical * h)); /* to where turbulence begins */
    double low = 0, top = 2 * l->critical_root * ratio, q = l->critical_root * rough_eighth_root(ratio);
    double m = q * q * (q * q), first, second;
    friction f = friction_at(l, m, r, h);
    for (int i = 0; i < 60; i++) {
        if (!(f.from <= m && m <= f.to)) f = friction_at(l, m, r, h);
        double over = value(&f, q, &first, &second) - goal;
        double sure = f.bends ? 1e-6 : 5e-6; /* a step of so much leaves 1e-15 */
        if (over > 0) top = q;
        else low = q;
        double next = q - 2 * q * over * first / (2 * first * first - over * second), step = fabs(next - q);
        if (step > sure * q && !(next > low && next < top)) next = (low + top) / 2;
        q = next;
        m = q * q * (q * q);
        if (step <= 1e-9 * q || (step <= sure * q && f.from <= m && m <= f.to)) break;
    }
    return m;
}
