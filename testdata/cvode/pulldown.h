/* What the files of the yardstick share; README.md says how it is used. */
#ifndef PULLDOWN_H
#define PULLDOWN_H

#define SPECIES 2 /* at most */
#define LEAST_PRESSURE 1e-100
#define WATER_MOLAR_MASS 0.018015268 /* kg/mol */

/* A gas or a mixture of one composition, as the law of flow needs it. */
typedef struct {
    double viscosity, speed, molar_mass, choke, ratio;
    double per_delta; /* 1/(viscosity speed) */
} gas;

typedef struct {
    double radius, viscous, rarefied, lengthy, inertial, tube, reynolds;
    double free, bent;                  /* prepared: slip without and with the terms that bend */
    double laminar, turbulent, blasius; /* prepared: n M/mu where the flow changes, factor of its power 3/4 */
    double resist;                      /* in force */
} segment;

/* A flow from p1 >= p2 and what it is made of, kept for its derivatives. */
typedef struct {
    double p1, p2, r, share_h, nozzle, felt, per_mole, n;
} point;

typedef struct {
    int from, to, segments;
    double rt, linear, diffusive;
    double critical, critical_root; /* prepared: n M/mu where turbulence begins, its root of order 4 */
    gas pure[SPECIES];
    double drift[SPECIES], wilke[SPECIES][SPECIES], per_dp; /* for two gases */
    segment *s;
    point last;
    long place[4]; /* of (from,from) (to,from) (from,to) (to,to) in the sparse matrix */
} passage;

/* Fills in what is prepared, once what is read is there; fastest is the largest
 * Reynolds number in a tube per n M/mu. */
void prepare_flow(passage *l, double fastest);
void prepare_friction(passage *l, double fastest);

/* Excess friction of turbulence at m = n M/mu, of which m34 is the power 3/4, as a
 * share of the segment's resistance, and its derivative by ln m. */
double excess(const segment *s, double m, double m34, double *slope);

/* Flow times M/mu beyond the critical one for which friction over the resistances
 * in force, which add up to r, and inertia h take the pressure goal times M/mu. */
double turbulent(const passage *l, double r, double h, double goal);

/* Flow of one gas in mol/s for p1 >= p2, p1 > 0, and its derivatives. */
double flow(passage *l, const gas *g, double p1, double p2);
void flow_slopes(passage *l, const gas *g, double p1, double p2, double *by1, double *by2);

/* Flows of two gases in mol/s from side 1 to side 2. */
void flow_of_two(passage *l, const double *p1, const double *p2, double *out);

/* Free water at a node. Its states are mass and enthalpy. */
typedef struct {
    int node;
    double area, supply, fade, evaporation, film, wall;
} puddle;

/* Rates of mass and enthalpy, kg/s and W, with vapour and dry gas in Pa. */
void puddle_rates(const puddle *w, const double *state, double vapour, double dry, double *rates);

#endif
