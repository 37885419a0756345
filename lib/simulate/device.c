#include "simulate/device.h"

#include <math.h>

#include "simulate/altimeter.h"
#include "simulate/map.h"
#include "simulate/random.h"
#include "simulate/receiver.h"

#define LAG_STEP_S 0.25 /* how finely the device's smoothing follows the height */
#define CADENCE_SD_RPM 2

struct device {
    const struct cw_simulate_options *options;
    const struct cw_device_scene *scene;
    struct cw_map map;
    struct cw_receiver receiver;
    struct cw_altimeter altimeter;
    struct cw_random interval, interval_more, speed, cadence;
};

static enum cw_status open_device(const struct cw_simulate_options *options,
                                  const struct cw_device_scene *scene, struct device *device,
                                  struct cw_error *error) {
    *device =
        (struct device){.options = options,
                        .scene = scene,
                        .interval = cw_random_make(options->seed, CW_STREAM_INTERVAL),
                        .interval_more = cw_random_make(options->seed, CW_STREAM_INTERVAL_MORE),
                        .speed = cw_random_make(options->seed, CW_STREAM_SPEED),
                        .cadence = cw_random_make(options->seed, CW_STREAM_CADENCE)};
    bool opened = cw_receiver_open(options, scene->days[0].height_m, &device->receiver) &&
                  cw_altimeter_open(options, scene->faults, &device->altimeter) &&
                  device->interval.state && device->interval_more.state && device->speed.state &&
                  device->cadence.state;
    if (!opened) return cw_error_memory(error);
    return cw_map_make(scene->course, &device->map, error);
}

static void close_device(struct device *device) {
    cw_map_free(&device->map);
    cw_receiver_close(&device->receiver);
    cw_altimeter_close(&device->altimeter);
    cw_random_free(&device->interval);
    cw_random_free(&device->interval_more);
    cw_random_free(&device->speed);
    cw_random_free(&device->cadence);
}

/* As the file will hold it, so that memory and file agree. */
static double decimals(double value, double per_unit) {
    return rint(value * per_unit) / per_unit;
}

static double recorded_speed(struct device *device, const struct cw_ride_state *state) {
    const struct cw_simulate_options *options = device->options;
    double noise_ms = options->speed_sd_ms * cw_random_normal(&device->speed);
    double speed_ms = fabs(state->speed_ms);
    if (options->speed == CW_SIMULATE_SPEED_OWN)
        return decimals(device->receiver.own_speed_ms * options->speed_scale, 1000);
    if (options->speed == CW_SIMULATE_SPEED_DOPPLER) {
        double sine = cw_course_sine(device->scene->course, state->s_m);
        speed_ms *= sqrt(1 - sine * sine);
    } else if (speed_ms == 0) {
        return 0; /* a wheel that stands makes no pulses */
    }
    return decimals(fmax(0, speed_ms * options->speed_scale + noise_ms), 1000);
}

/* A wheel's turns are counted; a device that knows its own speed only sums that. */
static double recorded_distance(const struct device *device, const struct cw_ride_state *state) {
    bool own = device->options->speed == CW_SIMULATE_SPEED_OWN;
    double distance_m = own ? device->receiver.own_distance_m : state->distance_m;
    return decimals(distance_m * device->options->speed_scale, 100);
}

/* What a map says of the place where the device says it is. */
static double mapped_height(const struct device *device, const struct cw_course_point *at,
                            double s_m) {
    double heading_rad = cw_course_heading(device->scene->course, s_m);
    return cw_map_height(&device->map,
                         s_m + cw_receiver_along_m(&device->receiver, at, heading_rad));
}

static struct cw_sample measure(struct device *device, const struct cw_day *day,
                                const struct cw_ride_state *state, double time_s) {
    const struct cw_simulate_options *options = device->options;
    struct cw_sample sample = cw_sample_missing();
    struct cw_course_point at = cw_course_at(device->scene->course, state->s_m);
    sample.time_s = options->start_s + time_s;
    if (options->positions) cw_receiver_say(&device->receiver, &sample);
    /* The numbers are drawn all the same: the other errors stay what they were. */
    double height_m = cw_altimeter_say(&device->altimeter, mapped_height(device, &at, state->s_m));
    if (options->elevation != CW_ELEVATION_LEVEL) sample.elevation_m = height_m;
    if (options->speed != CW_SIMULATE_SPEED_NONE) sample.speed_ms = recorded_speed(device, state);
    if (options->distance) sample.distance_m = recorded_distance(device, state);
    if (options->cadence) {
        double noise_rpm = CADENCE_SD_RPM * cw_random_normal(&device->cadence);
        sample.cadence_rpm = state->cadence_rpm > 0 ? rint(state->cadence_rpm + noise_rpm) : 0;
    }
    if (options->device_temperature)
        sample.temperature_c = rint(day->temperature_c + options->device_warm_c);
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
static void follow_height(struct device *device, size_t *phase, double time_s,
                          const struct cw_ride_state *state) {
    const struct cw_course *course = device->scene->course;
    double from_s = device->altimeter.time_s;
    if (device->options->elevation_lag_s > 0) {
        for (long k = 1; from_s + (double)k * LAG_STEP_S < time_s; k++) {
            double between_s = from_s + (double)k * LAG_STEP_S;
            struct cw_ride_state there;
            if (!ride_at(device->scene->ride, phase, between_s, &there)) break;
            cw_altimeter_follow(&device->altimeter, between_s,
                                cw_course_at(course, there.s_m).height_m);
        }
    }
    cw_altimeter_follow(&device->altimeter, time_s, cw_course_at(course, state->s_m).height_m);
}

static double next_interval(struct device *device) {
    const struct cw_simulate_options *options = device->options;
    unsigned long times = 1 + cw_random_below(&device->interval, 4);
    unsigned long more_s =
        cw_random_below(&device->interval_more, 1 + (unsigned long)options->interval_more_s);
    return options->interval_s * (options->irregular ? (double)times : 1) + (double)more_s;
}

/* One recording, from the phase on; *phase is then the first of the next recording. */
static enum cw_status record_one(struct device *device, size_t *phase,
                                 struct cw_recording *recording) {
    const struct cw_ride *ride = device->scene->ride;
    size_t number = ride->phases[*phase].recording, behind = *phase;
    const struct cw_day *day = &device->scene->days[number];
    double time_s = ceil(ride->phases[*phase].begin_s), before_s = time_s;
    struct cw_ride_state state;
    for (bool first = true; ride_at(ride, phase, time_s, &state); first = false) {
        struct cw_course_point at = cw_course_at(device->scene->course, state.s_m);
        double dt_s = time_s - before_s;
        if (first) {
            cw_receiver_start(&device->receiver, &at);
            cw_altimeter_start(&device->altimeter, number, day, time_s, at.height_m);
        } else {
            cw_receiver_step(&device->receiver, &at, dt_s);
            cw_altimeter_step(&device->altimeter, dt_s);
            follow_height(device, &behind, time_s, &state);
        }
        struct cw_sample sample = measure(device, day, &state, time_s);
        bool hole = cw_faults_hole(device->scene->runs, device->options->n_order, sample.time_s);
        if (!hole && cw_samples_add(&recording->samples, &sample)) return CW_E_MEMORY;
        before_s = time_s;
        time_s += next_interval(device);
    }
    ++*phase;
    return CW_OK;
}

enum cw_status cw_device_record(const struct cw_simulate_options *options,
                                const struct cw_device_scene *scene,
                                struct cw_recording *recordings, struct cw_error *error) {
    struct device device;
    size_t phase = 0;
    enum cw_status status = open_device(options, scene, &device, error);
    for (size_t i = 0; i < cw_simulate_recordings(options) && !status; i++) {
        struct cw_recording *recording = &recordings[i];
        if (record_one(&device, &phase, recording)) status = cw_error_memory(error);
        recording->format = options->format;
        recording->has_position = options->positions;
        recording->has_elevation = options->elevation != CW_ELEVATION_LEVEL;
        recording->has_speed = options->speed != CW_SIMULATE_SPEED_NONE;
        recording->has_distance = options->distance;
        recording->has_cadence = options->cadence;
        recording->has_temperature = options->device_temperature;
    }
    close_device(&device);
    return status;
}
