/*
 * Yardstick of the pull-down benchmarks: a circuit of passages, a pump and
 * free water, integrated by CVODE of SUNDIALS with its dense solver or with KLU.
 * README.md says how it is used and what the input file holds. The laws are in
 * flow.c, friction.c and water.c; the state holds the moles of every species node by node and
 * then mass and enthalpy of every puddle.
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

#include "pulldown.h"

#define UNTIL 1e9 /* s */
#define MOST_STEPS 20000

typedef struct {
    int nodes, species, links, puddles, states;
    int pump_node, far_node, back; /* species that comes back through the pump, -1 for none */
    double swept, low, target;     /* mol/(s Pa), Pa, Pa */
    double *per_mole, *start, *tolerance, *p;
    passage *link;
    puddle *water;
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

static void read_passage(FILE *f, passage *l, int species) {
    l->from = (int)number(f);
    l->to = (int)number(f);
    l->segments = (int)number(f);
    l->rt = number(f);
    l->linear = number(f);
    double fastest = number(f);
    l->diffusive = number(f);
    l->per_dp = number(f);
    for (int i = 0; i < species; i++) {
        gas *g = &l->pure[i];
        g->viscosity = number(f);
        g->speed = number(f);
        g->molar_mass = number(f);
        g->choke = number(f);
        g->ratio = number(f);
        l->drift[i] = number(f);
        for (int j = 0; j < species; j++) l->wilke[i][j] = number(f);
    }
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
    prepare_flow(l, fastest);
}

static void read_puddle(FILE *f, puddle *w) {
    w->node = (int)number(f);
    w->area = number(f);
    w->supply = number(f);
    w->fade = number(f);
    w->evaporation = number(f);
    w->film = number(f);
    w->wall = number(f);
}

static circuit *read_circuit(const char *name) {
    FILE *f = fopen(name, "r");
    if (!f) die("cannot open the input file");
    circuit *c = room(1, sizeof *c);
    c->nodes = (int)number(f);
    c->species = (int)number(f);
    c->links = (int)number(f);
    c->puddles = (int)number(f);
    if (c->species < 1 || c->species > SPECIES) die("one gas or two");
    c->states = c->nodes * c->species + 2 * c->puddles;
    c->per_mole = room(c->nodes, sizeof(double));
    c->p = room(c->nodes * c->species, sizeof(double));
    c->start = room(c->states, sizeof(double));
    c->tolerance = room(c->states, sizeof(double));
    for (int i = 0; i < c->nodes; i++) c->per_mole[i] = number(f);
    for (int i = 0; i < c->states; i++) {
        c->start[i] = number(f);
        c->tolerance[i] = number(f);
    }
    c->link = room(c->links, sizeof *c->link);
    for (int i = 0; i < c->links; i++) read_passage(f, &c->link[i], c->species);
    c->water = room(c->puddles, sizeof *c->water);
    for (int i = 0; i < c->puddles; i++) read_puddle(f, &c->water[i]);
    c->pump_node = (int)number(f);
    c->swept = number(f);
    c->low = number(f);
    c->back = (int)number(f);
    c->far_node = (int)number(f);
    c->target = number(f);
    fclose(f);
    return c;
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

/* Flow of one gas into the pump, and its derivative. */
static double pumped(const circuit *c, double p, double *slope) {
    if (c->back >= 0) {
        *slope = c->swept;
        return c->swept * (p - c->low);
    }
    double by, share = valved(c->low, p, &by);
    *slope = c->swept * (share + by * p);
    return c->swept * share * p;
}

/* Of two gases each is drawn by its own pressure; one of them comes back, or the
 * pump shuts at its blank-off. */
static void pump_two(const circuit *c, double *dy) {
    const double *p = &c->p[SPECIES * c->pump_node];
    double slope, speed = c->swept;
    if (c->back < 0) speed *= valved(c->low, p[0] + p[1], &slope);
    for (int k = 0; k < SPECIES; k++)
        dy[SPECIES * c->pump_node + k] -= speed * (k == c->back ? p[k] - c->low : p[k]);
}

static void load(circuit *c, const double *y) {
    for (int i = 0, at = 0; i < c->nodes; i++)
        for (int k = 0; k < c->species; k++, at++) c->p[at] = (y[at] > 0 ? y[at] : 0) * c->per_mole[i];
}

static void one_gas(circuit *c, double *dy) {
    double slope;
    for (int i = 0; i < c->links; i++) {
        passage *l = &c->link[i];
        double p1 = c->p[l->from], p2 = c->p[l->to], n = 0;
        if (p2 > p1) n = p2 > LEAST_PRESSURE ? -flow(l, l->pure, p2, p1) : 0;
        else n = p1 > LEAST_PRESSURE ? flow(l, l->pure, p1, p2) : 0;
        dy[l->from] -= n;
        dy[l->to] += n;
    }
    dy[c->pump_node] -= pumped(c, c->p[c->pump_node], &slope);
}

static void two_gases(circuit *c, double *dy) {
    for (int i = 0; i < c->links; i++) {
        passage *l = &c->link[i];
        double n[SPECIES];
        flow_of_two(l, &c->p[SPECIES * l->from], &c->p[SPECIES * l->to], n);
        for (int k = 0; k < SPECIES; k++) {
            dy[SPECIES * l->from + k] -= n[k];
            dy[SPECIES * l->to + k] += n[k];
        }
    }
    pump_two(c, dy);
}

/* Water is the first species where there is a puddle. */
static void evaporate(const circuit *c, const double *y, double *dy) {
    for (int i = 0; i < c->puddles; i++) {
        const puddle *w = &c->water[i];
        int gas = c->species * w->node, state = c->species * c->nodes + 2 * i;
        double dry = c->species > 1 ? c->p[gas + 1] : 0;
        puddle_rates(w, &y[state], c->p[gas], dry, &dy[state]);
        dy[gas] -= dy[state] / WATER_MOLAR_MASS;
    }
}

static int rates(realtype time, N_Vector state, N_Vector dst, void *data) {
    (void)time;
    circuit *c = data;
    double *y = N_VGetArrayPointer(state), *dy = N_VGetArrayPointer(dst);
    load(c, y);
    memset(dy, 0, c->states * sizeof *dy);
    if (c->species == 1) one_gas(c, dy);
    else two_gases(c, dy);
    evaporate(c, y, dy);
    return 0;
}

/* Derivatives of a passage's flow of one dry gas by the moles at both ends. With
 * two gases or water CVODE takes difference quotients of the rates. */
static void slopes_of(circuit *c, passage *l, double *from, double *to) {
    double p1 = c->p[l->from], p2 = c->p[l->to], by1, by2;
    if (p2 > p1 && p2 > LEAST_PRESSURE) {
        flow_slopes(l, l->pure, p2, p1, &by2, &by1);
        by1 = -by1, by2 = -by2;
    } else if (p1 > LEAST_PRESSURE) {
        flow_slopes(l, l->pure, p1, p2, &by1, &by2);
    } else { /* every molecule for itself */
        by1 = 1 / (l->rt * l->drift[0]);
        by2 = -by1;
    }
    *from = by1 * c->per_mole[l->from];
    *to = by2 * c->per_mole[l->to];
}

static int has_jacobian(const circuit *c) { return c->species == 1 && c->puddles == 0; }

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

static double pressure(const circuit *c, const double *y, int node) {
    double sum = 0;
    for (int k = 0; k < c->species; k++) sum += fmax(y[c->species * node + k], 0);
    return sum * c->per_mole[node];
}

static int arrived(realtype time, N_Vector state, realtype *g, void *data) {
    (void)time;
    circuit *c = data;
    g[0] = pressure(c, N_VGetArrayPointer(state), c->far_node) - c->target;
    return 0;
}

/* CVODE with all that it needs for one circuit. */
typedef struct {
    SUNContext context;
    N_Vector y, tolerance;
    SUNMatrix j;
    SUNLinearSolver s;
    void *cvode;
} solver;

static solver make_solver(circuit *c, double tolerance, int dense) {
    solver m;
    check(SUNContext_Create(NULL, &m.context), "no context");
    m.y = N_VNew_Serial(c->states, m.context);
    m.tolerance = N_VNew_Serial(c->states, m.context);
    for (int i = 0; i < c->states; i++) {
        N_VGetArrayPointer(m.y)[i] = c->start[i];
        N_VGetArrayPointer(m.tolerance)[i] = tolerance * c->tolerance[i];
    }
    m.cvode = CVodeCreate(CV_BDF, m.context);
    check(CVodeInit(m.cvode, rates, 0, m.y), "CVodeInit");
    check(CVodeSVtolerances(m.cvode, tolerance, m.tolerance), "CVodeSVtolerances");
    check(CVodeSetUserData(m.cvode, c), "CVodeSetUserData");
    check(CVodeSetMaxNumSteps(m.cvode, MOST_STEPS), "CVodeSetMaxNumSteps");
    if (dense) {
        m.j = SUNDenseMatrix(c->states, c->states, m.context);
        m.s = SUNLinSol_Dense(m.y, m.j, m.context);
    } else {
        make_pattern(c);
        m.j = SUNSparseMatrix(c->states, c->states, c->entries, CSC_MAT, m.context);
        m.s = SUNLinSol_KLU(m.y, m.j, m.context);
    }
    check(CVodeSetLinearSolver(m.cvode, m.s, m.j), "CVodeSetLinearSolver");
    if (has_jacobian(c)) check(CVodeSetJacFn(m.cvode, dense ? dense_jacobian : sparse_jacobian), "CVodeSetJacFn");
    else if (!dense) die("KLU is for one dry gas");
    return m;
}

static void free_solver(circuit *c, solver *m) {
    CVodeFree(&m->cvode);
    SUNLinSolFree(m->s);
    SUNMatDestroy(m->j);
    N_VDestroy(m->y);
    N_VDestroy(m->tolerance);
    SUNContext_Free(&m->context);
    free(c->columns);
    free(c->rows);
    c->columns = c->rows = NULL;
}

typedef struct {
    double event, seconds;
    long steps, evaluations, jacobians;
} result;

/* Processor time, of which others on the machine take nothing. */
static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return t.tv_sec + 1e-9 * t.tv_nsec;
}

/* One pull-down, everything from the first allocation to the event counted. Where
 * CVODE needs more steps than MOST_STEPS it is broken off, and the event is -1. */
static result pull(circuit *c, double tolerance, int dense) {
    result out;
    double began = now();
    solver m = make_solver(c, tolerance, dense);
    check(CVodeRootInit(m.cvode, 1, arrived), "CVodeRootInit");
    int flag = CVode(m.cvode, UNTIL, m.y, &out.event, CV_NORMAL);
    out.seconds = now() - began;
    if (flag == CV_TOO_MUCH_WORK) out.event = -1;
    else if (flag != CV_ROOT_RETURN) die("the pull-down did not arrive");
    CVodeGetNumSteps(m.cvode, &out.steps);
    CVodeGetNumRhsEvals(m.cvode, &out.evaluations);
    CVodeGetNumJacEvals(m.cvode, &out.jacobians);
    free_solver(c, &m);
    return out;
}

/* Pressures of all nodes at times from standard input, in order, by CVODE's own
 * interpolation inside the steps of pull. */
static void sample(circuit *c, double tolerance, int dense) {
    solver m = make_solver(c, tolerance, dense);
    N_Vector at = N_VNew_Serial(c->states, m.context);
    double *p = room(c->nodes, sizeof *p), reached = 0;
    for (int times = (int)number(stdin); times > 0; times--) {
        double t = number(stdin);
        while (reached < t) check(CVode(m.cvode, UNTIL, m.y, &reached, CV_ONE_STEP), "the pull-down broke off");
        check(CVodeGetDky(m.cvode, t, 0, at), "CVodeGetDky");
        for (int i = 0; i < c->nodes; i++) p[i] = pressure(c, N_VGetArrayPointer(at), i);
        fwrite(p, sizeof *p, c->nodes, stdout);
    }
    N_VDestroy(at);
    free(p);
    free_solver(c, &m);
}

/* Rates and, where there is a Jacobian, its product with the state, at states
 * from standard input. */
static void compare(circuit *c) {
    SUNContext context;
    check(SUNContext_Create(NULL, &context), "no context");
    N_Vector y = N_VNew_Serial(c->states, context), f = N_VNew_Serial(c->states, context);
    double *state = N_VGetArrayPointer(y), *dy = N_VGetArrayPointer(f), *jy = room(c->states, sizeof *jy);
    SUNMatrix j = SUNDenseMatrix(c->states, c->states, context);
    for (int states = (int)number(stdin); states > 0; states--) {
        for (int i = 0; i < c->states; i++) state[i] = number(stdin);
        if (states % 2) rates(0, y, f, c); /* every other Jacobian finds no flow kept for it */
        memset(jy, 0, c->states * sizeof *jy);
        if (has_jacobian(c)) dense_jacobian(0, y, f, j, c, NULL, NULL, NULL);
        rates(0, y, f, c);
        for (int k = 0; has_jacobian(c) && k < c->states; k++)
            for (int i = 0; i < c->states; i++) jy[i] += SM_ELEMENT_D(j, i, k) * state[k];
        for (int i = 0; i < c->states; i++) printf("%a %a\n", dy[i], jy[i]);
    }
}

int main(int count, char **argument) {
    if (count == 3 && !strcmp(argument[1], "compare")) {
        compare(read_circuit(argument[2]));
        return 0;
    }
    if (count != 6) die("usage: pulldown compare FILE, or pulldown run|sample FILE TOLERANCE dense|klu REPEATS");
    circuit *c = read_circuit(argument[2]);
    double tolerance = atof(argument[3]);
    int dense = !strcmp(argument[4], "dense"), repeats = atoi(argument[5]);
    if (!strcmp(argument[1], "sample")) {
        sample(c, tolerance, dense);
        return 0;
    }
    result best = {0, INFINITY, 0, 0, 0};
    for (int i = 0; i < repeats; i++) {
        result r = pull(c, tolerance, dense);
        if (r.seconds < best.seconds) best = r;
    }
    printf("%.17g %.9g %ld %ld %ld\n", best.event, best.seconds, best.steps, best.evaluations, best.jacobians);
    return 0;
}
