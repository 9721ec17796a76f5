/* The planner's circuit for many packs, one after the other: the plain loop that the engine is measured against.
   Currents only; one step a piece; resistances refreshed at the beginning of each step; the same states and ledgers. */
#include <math.h>

static double curve(const double *grid_v, int grid, double x)
{
    double at = x * grid;
    int low = at < 0.0 ? 0 : at >= grid ? grid - 1 : (int)at;
    return grid_v[low] + (at - low) * (grid_v[low + 1] - grid_v[low]);
}

/* pack: charge, metal ohm, cell ohm, pair ohm, pair tau, diffusion tau, activation K, diffusion activation K, cold loss
   a K, heat capacity, conductance. out: time of the end, soc, temperature, energy, heat, lowest voltage. */
void run(int packs, const double *pack, const double *grid_v, int grid, int pieces, const double *length_s,
         const double *current_a, double warm_k, double lead_ref_k, double alpha, double cell_k, double air_k,
         double cutoff_v, double *out)
{
    const double pi2 = 9.869604401089358;
    for (int n = 0; n < packs; n++) {
        const double *p = pack + 11 * n;
        double z = 1.0, s1 = 0.0, s2 = 0.0, v1 = 0.0, t_k = cell_k, clock = 0.0, energy = 0.0, heat = 0.0, least = 1e9;
        double k1 = 2.0 / pi2, tau1 = 1.0 / pi2, k2 = 1.0 / 3.0 - k1, tau2 = (1.0 / 45.0 - k1 * tau1) / k2;
        double end = INFINITY;
        for (int j = 0; j < pieces; j++) {
            double dt = length_s[j], a = current_a[j], inverse = 1.0 / t_k - 1.0 / warm_k;
            double chemical = exp(p[6] * inverse), tau_d = p[5] * exp(p[7] * inverse);
            double r0 = p[1] * (1.0 + alpha * (t_k - lead_ref_k)) + p[2] * chemical, r1 = p[3] * chemical;
            double g = t_k < warm_k ? 1.0 - p[8] * (warm_k - t_k) : 1.0, per_s = a / p[0];
            double v_begin = curve(grid_v, grid, (z - s1 - s2 - (1.0 - g)) / g) - a * r0 - v1;
            double u_begin = curve(grid_v, grid, z);
            double e1 = exp(-dt / (tau1 * tau_d)), e2 = exp(-dt / (tau2 * tau_d)), ev = exp(-dt / p[4]);
            z -= per_s * dt;
            s1 = s1 * e1 + k1 * tau_d * per_s * (1.0 - e1);
            s2 = s2 * e2 + k2 * tau_d * per_s * (1.0 - e2);
            v1 = v1 * ev + a * r1 * (1.0 - ev);
            double v_end = curve(grid_v, grid, (z - s1 - s2 - (1.0 - g)) / g) - a * r0 - v1;
            double lost_w = a * 0.5 * (u_begin + curve(grid_v, grid, z) - v_begin - v_end), ea = exp(-dt * p[10] / p[9]);
            t_k = air_k + (t_k - air_k) * ea + lost_w / p[10] * (1.0 - ea);
            energy += a * 0.5 * (v_begin + v_end) * dt;
            heat += lost_w * dt;
            least = v_end < least ? v_end : least;
            if (v_end < cutoff_v) {
                end = clock + dt * (v_begin - cutoff_v) / (v_begin - v_end);
                break;
            }
            clock += dt;
        }
        double *o = out + 6 * n;
        o[0] = end, o[1] = z, o[2] = t_k, o[3] = energy, o[4] = heat, o[5] = least;
    }
}
