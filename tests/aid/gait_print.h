/* gait_print.h - one foot's pressure on a mat that really has elements: each takes the load over its own
 * square. Made apart from the simulator, so that footprint.c is not tested against its own idea of a foot.
 * Header only.
 */
#ifndef AID_GAIT_PRINT_H
#define AID_GAIT_PRINT_H

#include "sense/frame.h"

#include <math.h>
#include <string.h>

#define GAIT_PRINT_ALONG  400
#define GAIT_PRINT_ACROSS 24

struct gait_print {
    double heel_fwd_mm, heel_right_mm; /* of the heel's edge at touchdown */
    double foot_mm, width_mm;
    double axis_deg; /* toes to the right */
    double speed_m_s, contact_s, peak_n;
    bool is_forefoot; /* the heel third never comes down */
};

static inline struct gait_print
gait_print_default(void)
{
    return (struct gait_print){
        .heel_fwd_mm = 180,
        .heel_right_mm = 40,
        .foot_mm = 265,
        .width_mm = 95,
        .speed_m_s = 2.5,
        .contact_s = 0.26,
        .peak_n = 1600,
    };
}

static inline double
gait_print_bump(double s, double place, double spread)
{
    return exp(-(s - place) * (s - place) / (2 * spread * spread));
}

/* Half the width of the sole at a place, as a share of the width: rounded ends, a waist. */
static inline double
gait_print_half_width(double s)
{
    double round_heel = s < 0.10 ? sqrt(1 - pow(1 - s / 0.10, 2)) : 1;
    double round_toe = s > 0.85 ? sqrt(1 - pow((s - 0.85) / 0.15, 2)) : 1;
    double waist = 1 - 0.35 * gait_print_bump(s, 0.42, 0.09);
    return (0.34 + 0.16 * s) * round_heel * round_toe * waist;
}

/* Pressure at a place (0 heel .. 1 toe) and a phase of the contact (0..1): heel, ball and toes take turns. */
static inline double
gait_print_pressure(const struct gait_print *p, double s, double u)
{
    double front_down = fmin(1, u / 0.18), heel_up = fmax(0, (u - 0.45) / 0.5);
    double from = (p->is_forefoot ? 0.36 : 0) + heel_up * 0.62,
           to = p->is_forefoot ? 0.8 + 0.2 * front_down : 0.35 + 0.65 * front_down;
    if (s < from || s > to)
        return 0;
    double heel = p->is_forefoot ? 0 : fmax(0, 1 - u / 0.55), ball = 0.2 + fmin(1, u / 0.6), toes = 0.1 + u;
    return 0.25 + heel * gait_print_bump(s, 0.13, 0.08) + ball * gait_print_bump(s, 0.72, 0.10) +
           0.5 * toes * gait_print_bump(s, 0.92, 0.06);
}

static inline double
gait_print_force_n(const struct gait_print *p, double t_s)
{
    return t_s <= 0 || t_s >= p->contact_s ? 0 : p->peak_n * sin(3.14159265358979 * t_s / p->contact_s);
}

/* The frame at t_s after touchdown; force and centre of pressure are the image's own. */
static inline void
gait_print_frame(const struct gait_print *p, double t_s, struct frame_image *m, struct frame *f)
{
    memset(m->load_n, 0, sizeof m->load_n);
    double along[GAIT_PRINT_ALONG], sum = 0, fwd = 0, right = 0, force_n = gait_print_force_n(p, t_s);
    for (int i = 0; i < GAIT_PRINT_ALONG; i++) {
        double s = (i + 0.5) / GAIT_PRINT_ALONG;
        along[i] = gait_print_pressure(p, s, t_s / p->contact_s) * gait_print_half_width(s);
        sum += along[i];
    }
    double turn = p->axis_deg * 3.14159265358979 / 180;
    for (int i = 0; force_n > 0 && i < GAIT_PRINT_ALONG; i++) {
        double s = (i + 0.5) / GAIT_PRINT_ALONG, half_mm = gait_print_half_width(s) * p->width_mm;
        for (int k = 0; k < GAIT_PRINT_ACROSS; k++) {
            double x = s * p->foot_mm, y = ((k + 0.5) / GAIT_PRINT_ACROSS * 2 - 1) * half_mm;
            double at_fwd = p->heel_fwd_mm - 1e3 * p->speed_m_s * t_s + x * cos(turn) - y * sin(turn);
            double at_right = p->heel_right_mm + x * sin(turn) + y * cos(turn);
            int r = (int) floor((at_fwd - m->origin_fwd_mm) / m->pitch_fwd_mm + 0.5);
            int c = (int) floor((at_right - m->origin_right_mm) / m->pitch_right_mm + 0.5);
            if (r >= 0 && r < m->n_rows && c >= 0 && c < m->n_cols)
                m->load_n[r * m->n_cols + c] += (float) (force_n * along[i] / sum / GAIT_PRINT_ACROSS);
        }
    }
    memset(f, 0, sizeof *f);
    f->time.us = 1000000 + units_us_from_s(t_s);
    f->kind = FRAME_KIND_MAT;
    f->image = m;
    for (int i = 0; i < m->n_rows * m->n_cols; i++) {
        double load_n = (double) m->load_n[i] > 0.2 ? (double) m->load_n[i] : 0; /* the noise floor */
        m->load_n[i] = (float) load_n;
        f->force_n += load_n;
        fwd += load_n * (m->origin_fwd_mm + i / m->n_cols * m->pitch_fwd_mm);
        right += load_n * (m->origin_right_mm + i % m->n_cols * m->pitch_right_mm);
    }
    f->cop_fwd_mm = fwd / f->force_n;
    f->cop_right_mm = right / f->force_n;
}

static inline void
gait_print_mat(struct frame_image *m, double pitch_mm)
{
    m->pitch_fwd_mm = m->pitch_right_mm = pitch_mm;
    m->n_rows = pitch_mm < 10 ? 128 : (int) (1280 / pitch_mm);
    m->n_cols = pitch_mm < 10 ? 64 : (int) (320 / pitch_mm);
    m->origin_fwd_mm = -(m->n_rows - 1) / 2.0 * pitch_mm + (pitch_mm < 10 ? -60 : 0);
    m->origin_right_mm = -(m->n_cols - 1) / 2.0 * pitch_mm;
}

#endif
