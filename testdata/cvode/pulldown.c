/*
 * Yardstick of the pull-down benchmarks: the right-hand side of one gas in a
 * circuit of passages and a pump, integrated by CVODE of SUNDIALS with its
 * dense solver or with KLU. README.md says how it is used and what the input
 * file holds. Only the law is repeated here; all constants come from the file.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunlinsol/sunlinsol_klu.h>
#include <sunmatrix/sunmatrix_dense.h>
#include <sunmatrix/sunmatrix_sparse.h>

/* Reynolds numbers between which laminar changes to turbulent friction, and
 * the rarefaction parameter at which half of the inertia counts. */
#define LAMINAR 2300.0
#define TURBULENT 4000.0
#define INERTIAL_DELTA 10.0
#define LEAST_PRESSURE 1e-100

/* Slip of a long tube: far value, then a and 1/b of every term. */
#define SLIP_FREE (8 / (3 * 1.772453850905516))
#define SLIP_FAR 1.018
static const double slip_a[4] = {0.02943871, 0.15183235, 0.15655665,
                                 SLIP_FREE - SLIP_FAR - 0.02943871 - 0.15183235 - 0.15655665};
static const double slip_b[4] = {1 / 0.01854493, 1 / 0.24106663, 1 / 2.11314206, 1 / 15.23295829};

typedef struct {
    double radius, viscous, rarefied, lengthy, inertial, tube, reynolds;
    double resist; /* in force */
} segment;

typedef struct {
    int from, to, segments;
    double rt, viscosity, speed, molar_mass, choke, ratio, linear, fastest;
    segment *s;
    long place[4]; /* of (from,from) (to,from) (from,to) (to,to) in the sparse matrix */
} passage;

typedef struct {
    int nodes, links, pump_node, far_node, returns;
    double swept, low, target; /* mol/(s Pa), Pa, Pa */
    double *per_mole, *start, *floor_moles, *p;
    passage *link;
    long *columns, *rows, entries, pump_place;
} circuit;

static void die(const char *what) {
    fprintf(stderr, "pulldown: %s\n", what);
    exit(1);
}

static void check(int flag, const char *what) {
    if (flag < 0) die(what);
}

static void *room(size_t count, size_t size) {
    void *p = calloc(count ? count : 1, size);
    if (!p) die("out of memory");
    return p;
}

static double number(FILE *f) {
    double v;
    if (fscanf(f, "%lf", &v) != 1) die("input ends early");
    return v;
}

static void read_passage(FILE *f, passage *l) {
    l->from = (int)number(f);
    l->to = (int)number(f);
    l->segments = (int)number(f);
    l->rt = number(f);
    l->viscosity = number(f);
    l->speed = number(f);
    l->molar_mass = number(f);
    l->choke = number(f);
    l->ratio = number(f);
    l->linear = number(f);
    l->fastest = number(f);
    l->s = room(l->segments, sizeof *l->s);
    for (int i = 0; i < l->segments; i++) {
        segment *s = &l->s[i];
        s->radius = number(f);
        s->viscous = number(f);
        s->rarefied = number(f);
        s->lengthy = number(f);
        s->inertial = number(f);
        s->tube = number(f);
        s->reynolds = number(f);
    }
}

static circuit *read_circuit(const char *name) {
    FILE *f = fopen(name, "r");
    if (!f) die("cannot open the input file");
    circuit *c = room(1, sizeof *c);
    c->nodes = (int)number(f);
    c->links = (int)number(f);
    c->per_mole = room(c->nodes, sizeof(double));
    c->start = room(c->nodes, sizeof(double));
    c->floor_moles = room(c->nodes, sizeof(double));
    c->p = room(c->nodes, sizeof(double));
    for (int i = 0; i < c->nodes; i++) {
        c->per_mole[i] = number(f);
        c->start[i] = number(f);
        c->floor_moles[i] = number(f);
    }
    c->link = room(c->links, sizeof *c->link);
    for (int i = 0; i < c->links; i++) read_passage(f, &c->link[i]);
    c->pump_node = (int)number(f);
    c->swept = number(f);
    c->low = number(f);
    c->returns = (int)number(f);
    c->far_node = (int)number(f);
    c->target = number(f);
    fclose(f);
    return c;
}

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

/* What a flow is made of, kept for its derivatives. */
typedef struct {
    double r, h, share_h, nozzle, felt, per_delta, per_viscosity, per_mole;
} terms;

/* Flow in mol/s for p1 >= p2, p1 > 0. */
static double flow(passage *l, double p1, double p2, terms *t) {
    t->per_delta = 1 / (l->viscosity * l->speed);
    t->per_viscosity = t->per_delta * l->speed;
    t->per_mole = l->molar_mass * t->per_viscosity;
    double r = 0, h = 0;
    for (int i = 0; i < l->segments; i++) {
        segment *s = &l->s[i];
        double d1 = s->radius * p1 * t->per_delta, d2 = s->radius * p2 * t->per_delta;
        double f1 = (1 + d1 * slip_b[0]) * (1 + d2 * slip_b[0]), f2 = (1 + d1 * slip_b[1]) * (1 + d2 * slip_b[1]);
        double f3 = (1 + d1 * slip_b[2]) * (1 + d2 * slip_b[2]), f4 = (1 + d1 * slip_b[3]) * (1 + d2 * slip_b[3]);
        double f12 = f1 * f2, f34 = f3 * f4, below = f12 * f34;
        double above = SLIP_FAR * below + (slip_a[0] * f2 + slip_a[1] * f1) * f34 + (slip_a[2] * f4 + slip_a[3] * f3) * f12;
        double slip = s->lengthy * above + (1 - s->lengthy) * SLIP_FREE * below;
        s->resist = l->rt * below / (s->viscous * (p1 + p2) * t->per_viscosity * below + s->rarefied * l->speed * slip);
        r += s->resist;
        h += s->inertial * d1 / (d1 + INERTIAL_DELTA);
    }
    double dp = p1 - p2, per_x = dp / (p1 * p1);
    if (p2 > l->ratio * p1) {
        double d = 1 - l->ratio;
        per_x = d * d / ((1 - 2 * l->ratio) * p1 + p2);
    }
    t->nozzle = l->molar_mass * l->rt / l->choke * per_x;
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
static void flow_slopes(const passage *l, double p1, double p2, double n, const terms *t, double *by1, double *by2) {
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
        double viscous = s->viscous * t->per_viscosity, rarefied = s->rarefied * l->speed * s->lengthy * per_pa;
        drop1 += weight * (viscous + rarefied * s1);
        drop2 += weight * (viscous + rarefied * s2);
        double share = 1 / (d1 + INERTIAL_DELTA);
        in1 += s->inertial * INERTIAL_DELTA * share * share * per_pa;
    }
    double k = l->molar_mass * l->rt / l->choke, z1, z2; /* of the nozzle */
    if (p2 > l->ratio * p1) {
        double den = 1 / ((1 - 2 * l->ratio) * p1 + p2);
        z1 = -t->nozzle * den * (1 - 2 * l->ratio);
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

/* Share of its displacement that a pump with a check valve moves, and its
 * derivative by the pressure; see the law of pumps. */
static double valved(double low, double p, double *slope) {
    double w = 1e-3 * low;
    if (p <= low - w || p <= 0) {
        *slope = 0;
        return 0;
    }
    if (p < low + w) {
        double over = p - low + w, v = over * over / (4 * w * p);
        *slope = (over / (2 * w) - v) / p;
        return v;
    }
    *slope = low / (p * p);
    return (p - low) / p;
}

static double pumped(const circuit *c, double p, double *slope) {
    if (c->returns) {
        *slope = c->swept;
        return c->swept * (p - c->low);
    }
    double by, share = valved(c->low, p, &by);
    *slope = c->swept * (share + by * p);
    return c->swept * share * p;
}

static void load(circuit *c, const double *y) {
    for (int i = 0; i < c->nodes; i++) c->p[i] = (y[i] > 0 ? y[i] : 0) * c->per_mole[i];
}

static int rates(realtype time, N_Vector state, N_Vector dst, void *data) {
    (void)time;
    circuit *c = data;
    double *dy = N_VGetArrayPointer(dst), slope;
    load(c, N_VGetArrayPointer(state));
    memset(dy, 0, c->nodes * sizeof *dy);
    for (int i = 0; i < c->links; i++) {
        passage *l = &c->link[i];
        double p1 = c->p[l->from], p2 = c->p[l->to], n = 0;
        terms t;
        if (p2 > p1) n = p2 > LEAST_PRESSURE ? -flow(l, p2, p1, &t) : 0;
        else n = p1 > LEAST_PRESSURE ? flow(l, p1, p2, &t) : 0;
        dy[l->from] -= n;
        dy[l->to] += n;
    }
    dy[c->pump_node] -= pumped(c, c->p[c->pump_node], &slope);
    return 0;
}

/* Entries of the Jacobian through add(where, value). */
static void slopes_of(circuit *c, passage *l, double *from, double *to) {
    double p1 = c->p[l->from], p2 = c->p[l->to], by1 = 0, by2 = 0;
    terms t;
    if (p2 > p1) {
        double n = flow(l, p2, p1, &t);
        flow_slopes(l, p2, p1, n, &t, &by2, &by1);
        by1 = -by1, by2 = -by2;
    } else if (p1 > LEAST_PRESSURE) {
        double n = flow(l, p1, p2, &t);
        flow_slopes(l, p1, p2, n, &t, &by1, &by2);
    }
    *from = by1 * c->per_mole[l->from];
    *to = by2 * c->per_mole[l->to];
}

static int dense_jacobian(realtype time, N_Vector state, N_Vector f, SUNMatrix j, void *data, N_Vector a, N_Vector b, N_Vector d) {
    (void)time, (void)f, (void)a, (void)b, (void)d;
    circuit *c = data;
    double from, to, slope;
    load(c, N_VGetArrayPointer(state));
    SUNMatZero(j);
    for (int i = 0; i < c->links; i++) {
        passage *l = &c->link[i];
        slopes_of(c, l, &from, &to);
        SM_ELEMENT_D(j, l->from, l->from) -= from;
        SM_ELEMENT_D(j, l->to, l->from) += from;
        SM_ELEMENT_D(j, l->from, l->to) -= to;
        SM_ELEMENT_D(j, l->to, l->to) += to;
    }
    pumped(c, c->p[c->pump_node], &slope);
    SM_ELEMENT_D(j, c->pump_node, c->pump_node) -= slope * c->per_mole[c->pump_node];
    return 0;
}

static int sparse_jacobian(realtype time, N_Vector state, N_Vector f, SUNMatrix j, void *data, N_Vector a, N_Vector b, N_Vector d) {
    (void)time, (void)f, (void)a, (void)b, (void)d;
    circuit *c = data;
    double from, to, slope, *v = SM_DATA_S(j);
    load(c, N_VGetArrayPointer(state));
    SUNMatZero(j);
    for (int i = 0; i <= c->nodes; i++) SM_INDEXPTRS_S(j)[i] = c->columns[i];
    for (long i = 0; i < c->entries; i++) SM_INDEXVALS_S(j)[i] = c->rows[i];
    for (int i = 0; i < c->links; i++) {
        passage *l = &c->link[i];
        slopes_of(c, l, &from, &to);
        v[l->place[0]] -= from;
        v[l->place[1]] += from;
        v[l->place[2]] -= to;
        v[l->place[3]] += to;
    }
    pumped(c, c->p[c->pump_node], &slope);
    v[c->pump_place] -= slope * c->per_mole[c->pump_node];
    return 0;
}

static int ascending(const void *a, const void *b) {
    long x = *(const long *)a, y = *(const long *)b;
    return (x > y) - (x < y);
}

static long place(const circuit *c, int row, int column) {
    for (long i = c->columns[column]; i < c->columns[column + 1]; i++)
        if (c->rows[i] == row) return i;
    die("no such entry in the pattern");
    return 0;
}

/* Pattern of the Jacobian, column by column, once per circuit. */
static void make_pattern(circuit *c) {
    long most = c->nodes + 2L * c->links, *key = room(most, sizeof *key), n = 0;
    for (long i = 0; i < c->nodes; i++) key[n++] = i * c->nodes + i;
    for (int i = 0; i < c->links; i++) {
        long a = c->link[i].from, b = c->link[i].to;
        key[n++] = a * c->nodes + b;
        key[n++] = b * c->nodes + a;
    }
    qsort(key, n, sizeof *key, ascending);
    c->columns = room(c->nodes + 1, sizeof(long));
    c->rows = room(most, sizeof(long));
    c->entries = 0;
    for (long i = 0; i < n; i++) {
        if (i && key[i] == key[i - 1]) continue;
        c->rows[c->entries++] = key[i] % c->nodes;
        c->columns[key[i] / c->nodes + 1] = c->entries;
    }
    free(key);
    for (int i = 0; i < c->links; i++) {
        passage *l = &c->link[i];
        l->place[0] = place(c, l->from, l->from);
        l->place[1] = place(c, l->to, l->from);
        l->place[2] = place(c, l->from, l->to);
        l->place[3] = place(c, l->to, l->to);
    }
    c->pump_place = place(c, c->pump_node, c->pump_node);
}

static int arrived(realtype time, N_Vector state, realtype *g, void *data) {
    (void)time;
    circuit *c = data;
    g[0] = N_VGetArrayPointer(state)[c->far_node] * c->per_mole[c->far_node] - c->target;
    return 0;
}

typedef struct {
    double event, seconds;
    long steps, evaluations, jacobians;
} result;

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return t.tv_sec + 1e-9 * t.tv_nsec;
}

/* One pull-down, everything from the first allocation counted. */
static result pull(circuit *c, double tolerance, int dense) {
    result out;
    double began = now(), until = 1e9;
    SUNContext context;
    check(SUNContext_Create(NULL, &context), "no context");
    N_Vector y = N_VNew_Serial(c->nodes, context), floor_moles = N_VNew_Serial(c->nodes, context);
    for (int i = 0; i < c->nodes; i++) {
        N_VGetArrayPointer(y)[i] = c->start[i];
        N_VGetArrayPointer(floor_moles)[i] = tolerance * c->floor_moles[i];
    }
    void *solver = CVodeCreate(CV_BDF, context);
    check(CVodeInit(solver, rates, 0, y), "CVodeInit");
    check(CVodeSVtolerances(solver, tolerance, floor_moles), "CVodeSVtolerances");
    check(CVodeSetUserData(solver, c), "CVodeSetUserData");
    check(CVodeSetMaxNumSteps(solver, 10000000), "CVodeSetMaxNumSteps");
    check(CVodeRootInit(solver, 1, arrived), "CVodeRootInit");
    if (!dense) make_pattern(c);
    SUNMatrix j = dense ? SUNDenseMatrix(c->nodes, c->nodes, context) : SUNSparseMatrix(c->nodes, c->nodes, c->entries, CSC_MAT, context);
    SUNLinearSolver s = dense ? SUNLinSol_Dense(y, j, context) : SUNLinSol_KLU(y, j, context);
    check(CVodeSetLinearSolver(solver, s, j), "CVodeSetLinearSolver");
    check(CVodeSetJacFn(solver, dense ? dense_jacobian : sparse_jacobian), "CVodeSetJacFn");
    int flag = CVode(solver, until, y, &out.event, CV_NORMAL);
    out.seconds = now() - began;
    if (flag != CV_ROOT_RETURN) die("the pull-down did not arrive");
    CVodeGetNumSteps(solver, &out.steps);
    CVodeGetNumRhsEvals(solver, &out.evaluations);
    CVodeGetNumJacEvals(solver, &out.jacobians);
    CVodeFree(&solver);
    SUNLinSolFree(s);
    SUNMatDestroy(j);
    N_VDestroy(y);
    N_VDestroy(floor_moles);
    SUNContext_Free(&context);
    if (!dense) {
        free(c->columns);
        free(c->rows);
    }
    return out;
}

/* Rates, and the Jacobian times the state, at states from standard input. */
static void compare(circuit *c) {
    SUNContext context;
    check(SUNContext_Create(NULL, &context), "no context");
    N_Vector y = N_VNew_Serial(c->nodes, context), f = N_VNew_Serial(c->nodes, context);
    double *moles = N_VGetArrayPointer(y), *dy = N_VGetArrayPointer(f), *jy = room(c->nodes, sizeof *jy);
    SUNMatrix j = SUNDenseMatrix(c->nodes, c->nodes, context);
    for (int states = (int)number(stdin); states > 0; states--) {
        for (int i = 0; i < c->nodes; i++) moles[i] = number(stdin);
        rates(0, y, f, c);
        dense_jacobian(0, y, f, j, c, NULL, NULL, NULL);
        memset(jy, 0, c->nodes * sizeof *jy);
        for (int k = 0; k < c->nodes; k++)
            for (int i = 0; i < c->nodes; i++) jy[i] += SM_ELEMENT_D(j, i, k) * moles[k];
        for (int i = 0; i < c->nodes; i++) printf("%a %a\n", dy[i], jy[i]);
    }
}

int main(int count, char **argument) {
    if (count == 3 && !strcmp(argument[1], "compare")) {
        compare(read_circuit(argument[2]));
        return 0;
    }
    if (count != 6 || strcmp(argument[1], "run"))
        die("usage: pulldown compare FILE, or pulldown run FILE TOLERANCE dense|klu REPEATS");
    circuit *c = read_circuit(argument[2]);
    int repeats = atoi(argument[5]);
    result best = {0, INFINITY, 0, 0, 0};
    for (int i = 0; i < repeats; i++) {
        result r = pull(c, atof(argument[3]), !strcmp(argument[4], "dense"));
        if (r.seconds < best.seconds) best = r;
    }
    printf("%.17g %.9g %ld %ld %ld\n", best.event, best.seconds, best.steps, best.evaluations, best.jacobians);
    return 0;
}
