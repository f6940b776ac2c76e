#include "sim/sole.h"

#include <math.h>

#define PI           3.141592653589793
#define N_ALONG      36
#define N_ACROSS     9
#define MIDDLE_PHASE 0.40
#define MIDDLE_SHARE 0.60 /* so that a heel landing's travel (gait/strike.h) is about -105 mm, as on recorded feet */
#define LEAVE_SHARE  0.83 /* so that the COP's front end under load lies at 0.78 of the foot, as on 54 recorded feet */
#define EDGE_SHARE   0.05 /* the border between sole in the air and sole on the ground is this soft */

static double
smooth(double x)
{
    x = fmax(0, fmin(1, x));
    return x * x * (3 - 2 * x);
}

double
sole_cop_share(double strike_share, double u)
{
    if (u < MIDDLE_PHASE)
        return strike_share + (MIDDLE_SHARE - strike_share) * smooth(u / MIDDLE_PHASE);
    return MIDDLE_SHARE + (LEAVE_SHARE - MIDDLE_SHARE) * smooth((u - MIDDLE_PHASE) / (1 - MIDDLE_PHASE));
}

void
sole_extent(double strike_share, double u, double *from_share, double *to_share)
{
    /* A foot that lands far forward lowers its heel later, and the last bit not at all. */
    double flat_phase = 0.16 + 0.14 * fabs(strike_share - 0.5);
    double heel_rest = fmax(0, (strike_share - 0.75) * 1.2);
    double from0 = fmax(0, strike_share - 0.16), to0 = fmin(1, strike_share + 0.16);
    double down = fmin(1, u / flat_phase);
    double heel_off = smooth((u - 0.5) / 0.5);
    double from = from0 + (heel_rest - from0) * down;
    *from_share = from + (0.74 - from) * heel_off;
    *to_share = to0 + (1 - to0) * down;
}

void
sole_axis_point(const struct sole_place *p, double share, double *fwd_mm, double *right_mm)
{
    double angle = p->toe_out_deg * PI / 180 * (p->is_right ? 1 : -1);
    *fwd_mm = p->heel_fwd_mm + share * p->length_mm * cos(angle);
    *right_mm = p->heel_right_mm + share * p->length_mm * sin(angle);
}

/* Half width over foot width, and relative pressure, by place: heel, arch, ball, toes. */
static double
half_width(double share)
{
    return 0.31 - 0.11 * exp(-pow((share - 0.42) / 0.13, 2)) + 0.17 * exp(-pow((share - 0.72) / 0.14, 2)) +
           0.04 * exp(-pow((share - 0.9) / 0.08, 2)) - 0.14 * smooth((share - 0.9) / 0.1) -
           0.10 * smooth((0.06 - share) / 0.06);
}

static double
relative_pressure(double share)
{
    return 0.45 + 0.75 * exp(-pow((share - 0.14) / 0.13, 2)) + 0.8 * exp(-pow((share - 0.72) / 0.12, 2)) +
           0.3 * exp(-pow((share - 0.92) / 0.07, 2));
}

/* Load of each slice across the foot, sum 1, centroid at cop_share. */
static void
slice_loads(double from_share, double to_share, double cop_share, double load[N_ALONG])
{
    double base[N_ALONG], place[N_ALONG];
    for (int i = 0; i < N_ALONG; i++) {
        double s = place[i] = (i + 0.5) / N_ALONG;
        double inside = fmax(0, fmin(1, (s - from_share) / EDGE_SHARE + 0.5)) *
                        fmax(0, fmin(1, (to_share - s) / EDGE_SHARE + 0.5));
        base[i] = inside * half_width(s) * relative_pressure(s) + (inside > 0 ? 1e-9 : 0);
    }
    /* exp(k (s - cop)) tilts the load; the centroid grows with k, so Newton's steps, held in bounds, find it.
     */
    double tilt = 0;
    for (int round = 0; round < 40; round++) {
        double sum = 0, first = 0, second = 0;
        for (int i = 0; i < N_ALONG; i++) {
            double arm = place[i] - cop_share;
            load[i] = base[i] * exp(tilt * arm);
            sum += load[i];
            first += load[i] * arm;
            second += load[i] * arm * arm;
        }
        for (int i = 0; i < N_ALONG; i++)
            load[i] /= sum;
        double mean = first / sum, spread = second / sum - mean * mean;
        if (fabs(mean) < 1e-7 || spread < 1e-9)
            return;
        tilt += fmax(-20, fmin(20, -mean / spread));
        tilt = fmax(-600, fmin(600, tilt));
    }
}

double
sole_zone_share(double strike_share, double u, double from_share, double to_share)
{
    double ground_from, ground_to, load[N_ALONG], sum = 0;
    sole_extent(strike_share, u, &ground_from, &ground_to);
    slice_loads(ground_from, ground_to, sole_cop_share(strike_share, u), load);
    for (int i = 0; i < N_ALONG; i++)
        if ((i + 0.5) / N_ALONG >= from_share && (i + 0.5) / N_ALONG < to_share)
            sum += load[i];
    return sum;
}

/* Shares load_n among the four elements around a point. Returns what fell outside. */
static double
splat(struct frame_image *image, double fwd_mm, double right_mm, double load_n)
{
    double row = (fwd_mm - image->origin_fwd_mm) / image->pitch_fwd_mm;
    double col = (right_mm - image->origin_right_mm) / image->pitch_right_mm;
    int r0 = (int) floor(row), c0 = (int) floor(col);
    double in_row = row - r0, in_col = col - c0, lost_n = 0;
    for (int k = 0; k < 4; k++) {
        int r = r0 + (k >> 1), c = c0 + (k & 1);
        double part_n = load_n * (k >> 1 ? in_row : 1 - in_row) * (k & 1 ? in_col : 1 - in_col);
        if (r < 0 || r >= image->n_rows || c < 0 || c >= image->n_cols)
            lost_n += part_n;
        else
            image->load_n[r * image->n_cols + c] += (float) part_n;
    }
    return lost_n;
}

double
sole_print(const struct sole_place *p, double strike_share, double u, double force_n,
           struct frame_image *image)
{
    double from_share, to_share, load[N_ALONG], lost_n = 0;
    if (!(force_n > 0))
        return 0;
    sole_extent(strike_share, u, &from_share, &to_share);
    slice_loads(from_share, to_share, sole_cop_share(strike_share, u), load);
    double angle = p->toe_out_deg * PI / 180 * (p->is_right ? 1 : -1);
    double across_fwd = -sin(angle), across_right = cos(angle), profile_sum = 0, profile[N_ACROSS];
    for (int j = 0; j < N_ACROSS; j++) {
        double w = (j + 0.5) / N_ACROSS * 2 - 1;
        profile_sum += profile[j] = 1 - 0.6 * w * w;
    }
    for (int i = 0; i < N_ALONG; i++) {
        double fwd_mm, right_mm, share = (i + 0.5) / N_ALONG;
        sole_axis_point(p, share, &fwd_mm, &right_mm);
        for (int j = 0; j < N_ACROSS; j++) {
            double off_mm = ((j + 0.5) / N_ACROSS * 2 - 1) * half_width(share) * p->width_mm;
            lost_n += splat(image, fwd_mm + off_mm * across_fwd, right_mm + off_mm * across_right,
                            force_n * load[i] * profile[j] / profile_sum);
        }
    }
    return lost_n;
}
