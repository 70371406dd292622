/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What one simulated session is made of: the kart, its driver, the plan of the
 * session with its faults, and the trace of true states that comes out.
 *
 * Order of use: sim_draw() -> sim_run() -> sim_label_*() and sim_log_write().
 * All ranges are common practice (no source), chosen wide on purpose: nothing
 * that is scored against these logs may lean on one value.
 */
#ifndef SIM_MODEL_H
#define SIM_MODEL_H

#include "sim_track.h"

enum { SIM_TORQUE_STEPS = 257, SIM_MAX_EVENTS = 160, SIM_MAX_FAULTS = 96 };

enum sim_set { SIM_DEVELOP, SIM_CHOOSE, SIM_SCORE };

struct sim_engine {
    bool four_stroke;
    double idle_rpm;
    double max_rpm;     /* reached at the end of the longest straight */
    double limiter_rpm; /* 0 = none */
    bool governor;      /* torque fades at the limit; else the spark is cut */
    double torque_peak_nm;
    double friction_nm; /* at max_rpm, throttle shut */
    double inertia_kg_m2;
    double flutter; /* cycle-to-cycle scatter of torque, share */
    double torque[SIM_TORQUE_STEPS]; /* of the peak, 0 .. 1.25 max_rpm */
};

struct sim_kart {
    double mass_kg;
    double drag_area_m2;
    double rolling; /* rolling resistance, share of weight */
    double tyre_m;  /* rolling circumference */
    int engine_teeth, axle_teeth;
    double axle_inertia_kg_m2;
    double grip;           /* tyre force over weight */
    double brake_m_s2;     /* what the brake can do */
    double clutch_rpm;     /* where the clutch starts to take load */
    double clutch_nm_rad2; /* capacity = this * (w^2 - w0^2) */
    double wind_m_s, wind_heading_rad;
};

/* Steady gas temperature and the three heat stores after it. */
struct sim_exhaust {
    double ambient_c;
    double full_c;         /* gas at full load and max_rpm, right mixture */
    double speed_share;    /* how much of it hangs on RPM, 0 .. 1 */
    double load_share;     /* and on load */
    double lean_c_percent; /* slope at the right mixture */
    double peak_percent;   /* leaner than this the gas gets cooler again */
    double pipe_share;     /* heat the gas leaves in a cold pipe, share */
    double boss_share;     /* how far the probe reads its boss, share */
    double pipe_s, boss_s; /* warm-up times at full flow */
    double probe_s;        /* probe's lag at full flow */
    double probe_flow;     /* lag grows with flow to the power of minus this */
    double map_percent[5]; /* mixture map over RPM: lean is positive */
    double drift_percent;  /* by which fuel and air change it in ten minutes */
    double wander_percent; /* and from one bend to the next, at random */
};

struct sim_driver {
    double lap_scatter;    /* share of speed, from lap to lap */
    double corner_scatter; /* from corner to corner */
    double pace;           /* share of the grip that is used */
    double throttle_s;     /* time to open the throttle */
    double brake_share;
    double aside_m; /* scatter of the line to the left and right */
    double launch_throttle, launch_s;
};

enum sim_event_kind {
    SIM_LIFT,
    SIM_SLIDE,
    SIM_SPIN,
    SIM_STOP,
    SIM_TRAFFIC,
    SIM_YELLOW,
    SIM_SLOW_LAP,
    SIM_PIT_VISIT,
    SIM_TOW,
    SIM_HOP
};

/* Something a driver does or meets, once, at a place. */
struct sim_event {
    enum sim_event_kind kind;
    double at_m;     /* distance since the log began */
    double size;     /* speed share, grip share or shelter, see sim_drive.c */
    double length_m; /* how far it reaches along the track */
    double wait_s;   /* for stops */
    bool stalls;
    bool begun, done;
};

enum sim_fault_kind {
    SIM_LEAN,
    SIM_RESTRICTION,
    SIM_AIR_LEAK,
    SIM_LOOSE,
    SIM_WORN_CLUTCH,
    SIM_CHAIN_JUMP,
    SIM_EXHAUST_LEAK,
    SIM_SEIZURE,
    SIM_RICH,
    SIM_OPEN_PROBE,
    SIM_GLITCH
};

enum sim_region { SIM_ANYWHERE, SIM_LOW, SIM_MIDDLE, SIM_TOP };

enum sim_signal { SIM_TRUE, SIM_ZERO, SIM_HALF, SIM_DOUBLE, SIM_FROZEN };

struct sim_fault {
    enum sim_fault_kind kind;
    double start_s, end_s;
    double ramp_s;
    double strength; /* percent of mixture, or a share */
    enum sim_region region;
    enum sim_signal signal;
    bool cuts_spark;
};

enum sim_place { SIM_ON_TRACK, SIM_IN_YARD, SIM_ON_BENCH };

struct sim_plan {
    enum sim_place place;
    double pit_m;          /* where the pits leave and join the track */
    int laps;              /* whole laps to drive; on the bench: seconds */
    double drive_m;        /* distance to drive */
    bool running_at_start; /* engine already runs at the first row */
    bool rolling_start;    /* log begins on the track at speed */
    bool ends_on_track;
    double idle_before_s, idle_after_s;
    struct sim_event event[SIM_MAX_EVENTS];
    size_t n_events;
    struct sim_fault fault[SIM_MAX_FAULTS];
    size_t n_faults;
    const char *whole_session; /* "lean", "rich" or NULL */
    double fuel_store_s;       /* full flow that the bowl holds, seconds */
};

/* The logger: what is measured, how well, and in what words it is written. */
struct sim_logger {
    double rate_hz;
    double rpm_noise, rpm_step, rpm_update_hz;
    double egt_noise_c, egt_step_c, egt_update_hz, egt_spikes_h;
    double speed_noise_m_s, gps_hz, gps_noise_m, gps_drift_m;
    double jitter_s, gaps_h, lost_rows_h, odd_stamps_h;
    double lost_fixes_h; /* sky hidden: position and speed stand still */
    double stamp_step_s; /* resolution of the time column */
    bool has_speed, speed_is_wheel, has_position;
    bool has_lap, has_marker;
    bool has_throttle, has_water, has_head, has_accel, has_battery, has_axle;
    bool has_second_egt;
    bool line_known, has_profile, profile_full;
    double latitude, longitude;
};

struct sim_session {
    unsigned long seed;
    enum sim_set set;
    const char *group;
    struct sim_track track;
    struct sim_engine engine;
    struct sim_kart kart;
    struct sim_exhaust exhaust;
    struct sim_driver driver;
    struct sim_plan plan;
    struct sim_logger logger;
    double widen;
};

/* True states, one column each, every step_s. */
struct sim_trace {
    size_t n, room;
    double step_s;
    double *distance_m; /* along the track, counted from the true line */
    double *aside_m;
    double *speed_m_s;
    double *axle_rpm; /* of the axle, as seen by the engine sprocket: x ratio */
    double *engine_rpm;
    double *throttle;
    double *load;         /* 0 .. 1 of what this RPM can give */
    double *lean_percent; /* faults only: above the engine's own map */
    double *starved;      /* share of torque that a starved engine loses */
    double *lost_rpm;     /* by which the pull is behind an unstarved one */
    double *probe_c;      /* what the probe's tip has */
    double *healthy_c;    /* and would have without the faults */
    double *accel_m_s2;
    double *lateral_m_s2;
    double *clutch_nm;
    double *clutch_w; /* heat made by the slipping clutch, watts */
    unsigned char *running;
};

double sim_ratio(const struct sim_kart *kart);

/* Draws everything of a session from its seed. */
void sim_draw(struct sim_session *session,
              unsigned long seed,
              enum sim_set set);
void sim_session_free(struct sim_session *session);

/* Drives the session. The caller frees the trace. */
struct sim_trace sim_run(const struct sim_session *session);
void sim_trace_free(struct sim_trace *trace);

#endif
