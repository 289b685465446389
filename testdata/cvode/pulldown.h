/* What the files of the yardstick share; README.md says how it is used. */
#ifndef PULLDOWN_H
#define PULLDOWN_H

#define SPECIES 2 /* at most */
#define LEAST_PRESSURE 1e-100
#define WATER_MOLAR_MASS 0.018015268 /* kg/mol */

/* A gas or a mixture of one composition, as the law of flow needs it. */
typedef struct {
    double viscosity, speed, molar_mass, choke, ratio;
} gas;

typedef struct {
    double radius, viscous, rarefied, lengthy, inertial, tube, reynolds;
    double resist; /* in force */
} segment;

typedef struct {
    int from, to, segments;
    double rt, linear, fastest, diffusive;
    gas pure[SPECIES];
    double drift[SPECIES], wilke[SPECIES][SPECIES], per_dp; /* for two gases */
    segment *s;
    long place[4]; /* of (from,from) (to,from) (from,to) (to,to) in the sparse matrix */
} passage;

/* What a flow is made of, kept for its derivatives. */
typedef struct {
    double r, h, share_h, nozzle, felt, per_delta, per_viscosity, per_mole;
} terms;

/* Flow of one gas in mol/s for p1 >= p2, p1 > 0, and its derivatives. */
double flow(passage *l, const gas *g, double p1, double p2, terms *t);
void flow_slopes(const passage *l, const gas *g, double p1, double p2, double n, const terms *t, double *by1, double *by2);

/* Flows of two gases in mol/s from side 1 to side 2. */
void flow_of_two(passage *l, const double *p1, const double *p2, double *out);

/* Free water at a node. Its states are mass and enthalpy. */
typedef struct {
    int node;
    double area, supply, fade, evaporation, film, wall;
} puddle;

/* Rates of mass and enthalpy, kg/s and W, with vapour and all gas in Pa. */
void puddle_rates(const puddle *w, const double *state, double vapour, double total, double *rates);

#endif
