#include "simulate/device.h"

#include <math.h>

#include "motion/metric.h"
#include "physics/air.h"
#include "simulate/random.h"

#define LAG_STEP_S 0.25 /* how finely the device's smoothing follows the height */
#define CADENCE_SD_RPM 2

struct device {
    const struct cw_simulate_options *options;
    const struct cw_course *course;
    const struct cw_device_air *air;
    struct cw_metric metric;
    struct cw_random interval, speed, cadence, position_drift, position, elevation_drift, elevation;
    struct cw_drift drift_east_m, drift_north_m, drift_up_m;
    double top_indicated_m; /* pressure altitude of the road's top */
    double height_m, smoothed_m, height_time_s;
};

static bool open_streams(struct device *device) {
    struct {
        struct cw_random *random;
        enum cw_stream stream;
    } all[] = {{&device->interval, CW_STREAM_INTERVAL},
               {&device->speed, CW_STREAM_SPEED},
               {&device->cadence, CW_STREAM_CADENCE},
               {&device->position_drift, CW_STREAM_POSITION_DRIFT},
               {&device->position, CW_STREAM_POSITION},
               {&device->elevation_drift, CW_STREAM_ELEVATION_DRIFT},
               {&device->elevation, CW_STREAM_ELEVATION}};
    bool opened = true;
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        *all[i].random = cw_random_make(device->options->seed, all[i].stream);
        opened = opened && all[i].random->state;
    }
    return opened;
}

static void close_streams(struct device *device) {
    cw_random_free(&device->interval);
    cw_random_free(&device->speed);
    cw_random_free(&device->cadence);
    cw_random_free(&device->position_drift);
    cw_random_free(&device->position);
    cw_random_free(&device->elevation_drift);
    cw_random_free(&device->elevation);
}

/* As the file will hold it, so that memory and file agree. */
static double rounded(double value, double step) {
    return rint(value / step) * step;
}

static double decimals(double value, double per_unit) {
    return rint(value * per_unit) / per_unit;
}

static double pressure_altitude(const struct device *device, double height_m) {
    const struct cw_device_air *air = device->air;
    return cw_isa_pressure_altitude_m(cw_air_pressure_at(
        air->pressure_pa, air->density_kgm3, air->gravity_ms2, air->height_m, height_m));
}

/* The height the sensor feels. A barometer is set to the true height at the road's top. */
static double felt_height(const struct device *device, double true_m) {
    if (device->options->elevation != CW_ELEVATION_BAROMETRIC) return true_m;
    return pressure_altitude(device, true_m) - device->top_indicated_m + device->options->height_m;
}

/* First-order smoothing of a height that runs straight from the last one to this: exact. */
static void smooth_to(struct device *device, double time_s, double height_m) {
    double lag_s = device->options->elevation_lag_s, dt_s = time_s - device->height_time_s;
    if (lag_s <= 0) {
        device->smoothed_m = height_m;
    } else if (dt_s > 0) {
        double behind_m = (height_m - device->height_m) / dt_s * lag_s;
        device->smoothed_m =
            height_m - behind_m +
            (device->smoothed_m - device->height_m + behind_m) * exp(-dt_s / lag_s);
    }
    device->height_m = height_m;
    device->height_time_s = time_s;
}

static double elevation(struct device *device) {
    const struct cw_simulate_options *options = device->options;
    double noisy_m = device->smoothed_m + device->drift_up_m.value +
                     options->elevation_sd_m * cw_random_normal(&device->elevation);
    if (options->elevation_step_m > 0) noisy_m = rounded(noisy_m, options->elevation_step_m);
    return decimals(noisy_m, 1000);
}

static double recorded_speed(struct device *device, const struct cw_ride_state *state) {
    const struct cw_simulate_options *options = device->options;
    double noise_ms = options->speed_sd_ms * cw_random_normal(&device->speed);
    double speed_ms = fabs(state->speed_ms);
    if (options->speed == CW_SIMULATE_SPEED_DOPPLER) {
        double sine = cw_course_sine(device->course, state->s_m);
        speed_ms *= sqrt(1 - sine * sine);
    } else if (speed_ms == 0) {
        return 0; /* a wheel that stands makes no pulses */
    }
    return decimals(fmax(0, speed_ms * options->speed_scale + noise_ms), 1000);
}

static void place(struct device *device, const struct cw_course_point *at,
                  struct cw_sample *sample) {
    double sd_m = device->options->position_sd_m;
    double east_m =
        at->east_m + device->drift_east_m.value + sd_m * cw_random_normal(&device->position);
    double north_m =
        at->north_m + device->drift_north_m.value + sd_m * cw_random_normal(&device->position);
    cw_metric_to_globe(&device->metric, east_m, north_m, &sample->latitude_deg,
                       &sample->longitude_deg);
    sample->latitude_deg = decimals(sample->latitude_deg, 1e7);
    sample->longitude_deg = decimals(sample->longitude_deg, 1e7);
}

static void start_recording(struct device *device) {
    const struct cw_simulate_options *options = device->options;
    device->drift_east_m = cw_drift_make(options->position_drift_sd_m,
                                         options->position_drift_time_s, &device->position_drift);
    device->drift_north_m = cw_drift_make(options->position_drift_sd_m,
                                          options->position_drift_time_s, &device->position_drift);
    device->drift_up_m = cw_drift_make(options->elevation_drift_sd_m,
                                       options->elevation_drift_time_s, &device->elevation_drift);
}

static void drift_on(struct device *device, double dt_s) {
    cw_drift_step(&device->drift_east_m, dt_s, &device->position_drift);
    cw_drift_step(&device->drift_north_m, dt_s, &device->position_drift);
    cw_drift_step(&device->drift_up_m, dt_s, &device->elevation_drift);
}

static struct cw_sample measure(struct device *device, const struct cw_ride_state *state,
                                double time_s) {
    const struct cw_simulate_options *options = device->options;
    struct cw_sample sample = cw_sample_missing();
    struct cw_course_point at = cw_course_at(device->course, state->s_m);
    sample.time_s = options->start_s + time_s;
    if (options->positions) place(device, &at, &sample);
    /* The numbers are drawn all the same: the other errors stay what they were. */
    double height_m = elevation(device);
    if (device->options->elevation != CW_ELEVATION_LEVEL) sample.elevation_m = height_m;
    if (options->speed != CW_SIMULATE_SPEED_NONE) sample.speed_ms = recorded_speed(device, state);
    if (options->distance)
        sample.distance_m = decimals(state->distance_m * options->speed_scale, 100);
    if (options->cadence) {
        double noise_rpm = CADENCE_SD_RPM * cw_random_normal(&device->cadence);
        sample.cadence_rpm = state->cadence_rpm > 0 ? rint(state->cadence_rpm + noise_rpm) : 0;
    }
    return sample;
}

/* The ride's state at a time of the phase's recording; moves *phase on to the one that holds it.
 * False when the recording is over. */
static bool ride_at(const struct cw_ride *ride, size_t *phase, double time_s,
                    struct cw_ride_state *state) {
    size_t recording = ride->phases[*phase].recording;
    while (time_s > ride->phases[*phase].begin_s + ride->phases[*phase].duration_s) {
        if (*phase + 1 == ride->n || ride->phases[*phase + 1].recording != recording) return false;
        ++*phase;
    }
    *state = cw_ride_phase_at(&ride->phases[*phase], time_s);
    return true;
}

/* Follows the height from the last sample to this one. */
static void follow_height(struct device *device, const struct cw_ride *ride, size_t *phase,
                          double time_s, const struct cw_ride_state *state) {
    double from_s = device->height_time_s;
    if (device->options->elevation_lag_s > 0) {
        for (long k = 1; from_s + (double)k * LAG_STEP_S < time_s; k++) {
            double between_s = from_s + (double)k * LAG_STEP_S;
            struct cw_ride_state there;
            if (!ride_at(ride, phase, between_s, &there)) break;
            smooth_to(device, between_s,
                      felt_height(device, cw_course_at(device->course, there.s_m).height_m));
        }
    }
    smooth_to(device, time_s,
              felt_height(device, cw_course_at(device->course, state->s_m).height_m));
}

static double next_interval(struct device *device) {
    unsigned long times = 1 + cw_random_below(&device->interval, 4);
    return device->options->interval_s * (device->options->irregular ? (double)times : 1);
}

/* One recording, from the phase on; *phase is then the first of the next recording. */
static enum cw_status record_one(struct device *device, const struct cw_ride *ride, size_t *phase,
                                 struct cw_recording *recording) {
    double time_s = ceil(ride->phases[*phase].begin_s), before_s = time_s;
    struct cw_ride_state state;
    size_t behind = *phase;
    start_recording(device);
    bool first = true;
    while (ride_at(ride, phase, time_s, &state)) {
        if (first) {
            device->height_time_s = time_s;
            device->smoothed_m = device->height_m =
                felt_height(device, cw_course_at(device->course, state.s_m).height_m);
            first = false;
        } else {
            drift_on(device, time_s - before_s);
            follow_height(device, ride, &behind, time_s, &state);
        }
        struct cw_sample sample = measure(device, &state, time_s);
        if (cw_samples_add(&recording->samples, &sample)) return CW_E_MEMORY;
        before_s = time_s;
        time_s += next_interval(device);
    }
    ++*phase;
    return CW_OK;
}

enum cw_status cw_device_record(const struct cw_simulate_options *options,
                                const struct cw_course *course, const struct cw_ride *ride,
                                const struct cw_device_air *air, struct cw_recording *recordings,
                                struct cw_error *error) {
    struct device device = {.options = options, .course = course, .air = air};
    device.metric = cw_metric_make(options->latitude_deg, options->longitude_deg);
    cw_metric_raise(&device.metric, air->height_m);
    device.top_indicated_m = pressure_altitude(&device, options->height_m);
    enum cw_status status = CW_OK;
    size_t phase = 0;
    if (!open_streams(&device)) status = CW_E_MEMORY;
    for (size_t i = 0; i < options->n_recordings && !status; i++) {
        status = record_one(&device, ride, &phase, &recordings[i]);
        recordings[i].format = options->format;
        recordings[i].has_position = options->positions;
        recordings[i].has_elevation = options->elevation != CW_ELEVATION_LEVEL;
        recordings[i].has_speed = options->speed != CW_SIMULATE_SPEED_NONE;
        recordings[i].has_distance = options->distance;
        recordings[i].has_cadence = options->cadence;
    }
    close_streams(&device);
    return status ? cw_error_memory(error) : CW_OK;
}
