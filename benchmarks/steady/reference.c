/* The fuel network of one barrel in C, the same equations, written for the benchmark alone. Rows of `h` are the fields
 * of `Held` in order, each over all barrels. LANES barrels go side by side; 1 is scalar C with the library's log10. */
#include <math.h>
#define MAX(a, b) ((a) > (b) ? (a) : (b))
#define MIN(a, b) ((a) < (b) ? (a) : (b))
#define H(row) h[(row) * n + i + k]
static inline double log_of(double x) {
#if LANES == 1
    return log10(x);
#else
    double r = sqrt(sqrt(14.907119849998601 * x)), q = (r - 1) / (r + 1), z = q * q;
    double s = 0.694439480555796 + z * (0.5040919253816386 + z * (0.32118842428423033 + z * 0.5588857025376461));
    return q * (3.4743558015544163 + z * (1.1581283431542324 + z * s)) - 1.1733937431123282;
#endif
}
static inline double bled(double area, double drive, double drive_slope, double air, double air_slope, double volume,
                          double rho, double inv_rho, double *slope) {
    double a2 = 2 * area * area, v = air * volume, lin = v * rho + air;
    double con = MIN((air * v - a2 * MAX(drive, 0)) * rho, 0), root = sqrt(lin * lin - 4 * con);
    double inv = 1 / (root * (lin + root) + 1e-300), fuel = -2 * con * root * inv;
    double by_air = fuel * inv_rho + v + (fuel + air) * volume;
    double rises = (a2 * drive_slope - by_air * air_slope) * rho * (lin + root) * inv;
    *slope = fuel > 0 ? rises : 0.0;
    return fuel;
}
void solve(const double *h, long n, double *totals, double *idles, double start_total, double start_idle) {
    for (long i = 0; i < n; i += LANES) {
        double total[LANES], idle[LANES], change[LANES];
        for (int k = 0; k < LANES; k++) { total[k] = start_total; idle[k] = start_idle; change[k] = 1; }
        for (int step = 0; step < 14; step++) {
            double worst = 0;
#pragma omp simd
            for (int k = 0; k < LANES; k++) {
                double re = total[k] * H(1), sl = H(2), held = MIN(MAX(re, 10), 20000), sp = log_of(0.00015 * held);
                double u = 0.827 - 0.0085 * sl, fr = 20 * (1 + 2.25 * sl), bell = 1 + 7.5 * sp * sp;
                double under = (held + fr * u) * bell - 0.005 * sl * u * held, sq = held * bell * bell;
                double inv = 1 / (under * sq), cd = u * held * bell * sq * inv;
                double fol = cd * (fr * bell * bell - 0.005 * sl * 15 * 0.4342944819032518 * sp * held) * under * inv;
                fol = held == re ? fol : 0; fol = re < 10 ? 0.5 : fol;
                cd *= sqrt(MIN(MAX(re, 0) * 0.1, 1));
                double jet = cd * H(0), e = 1 / (jet + H(3)), per = 0.5 * H(18) * total[k] * e * e;
                double drop = per * total[k], drop_slope = 2 * per * (1 - jet * e * fol);
                double dep = drop + H(6), speed = sqrt(2 * H(15) * MAX(dep, 1e-6)), bleed = H(7), open = dep > 1e-6 ? bleed : 0.0;
                double ms, is;
                double om = bled(H(5), H(4) - dep, -1, open * speed, open * H(15) / speed, H(16), H(17), H(18), &ms);
                double tube = (H(9) * idle[k] + H(10)) * idle[k], ts = 2 * H(9) * idle[k] + H(10);
                dep = drop + H(8) + tube;
                double in = H(13) - dep, free = in - H(14), tight = 0.393 * in, dr = H(14) < 0.607 * in ? tight : free;
                double drs = H(14) < 0.607 * in ? -0.393 : -1.0;
                speed = sqrt(2 * H(15) * MAX(dep, 1e-6)); bleed = H(11); open = dep > 1e-6 ? bleed : 0.0;
                double oi = bled(H(12), dr, drs, open * speed, open * H(15) / speed, H(16) * H(13) / MAX(in, 1), H(17),
                                 H(18), &is);
                double f = total[k] - idle[k] - om, g = idle[k] - oi;
                double a = 1 - ms * drop_slope, c = -is * drop_slope, d = 1 - is * ts, id = 1 / (a * d + c);
                double nt = MAX(MAX(total[k] - (f * d + g) * id, 0.1 * total[k]), 1e-9);
                double least = 0.1 * idle[k], low = oi > 0 ? least : 0.0, aim = idle[k] - (g * a - f * c) * id;
                double ni = MAX(aim, low), t0 = total[k], i0 = idle[k], c0 = change[k];
                double moved = (fabs(nt - total[k]) + fabs(ni - idle[k])) / nt;
                total[k] = c0 < 1e-6 ? t0 : nt; idle[k] = c0 < 1e-6 ? i0 : ni; change[k] = c0 < 1e-6 ? c0 : moved;
            }
            for (int k = 0; k < LANES; k++) worst = MAX(worst, change[k]);
            if (worst < 1e-6) break;
        }
        for (int k = 0; k < LANES; k++) { totals[i + k] = total[k]; idles[i + k] = idle[k]; }
    }
}
