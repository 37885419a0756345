/* The rows here are closed forms, computed in full precision and checked by an independent
 * numerical solution: g = 9.80665, rho = 1.2, CdA = 0.32, Crr = 0.005, slope = tan(angle), distance
 * along the road, no bearings. Their tolerance is 1e-10 relative; the descent, with the solver's
 * own error, is asked for 1e-9. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "physics/descent.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))
#define RELATIVE 1e-9
#define CHECK_CLOSE(got, expected) ck_assert_double_eq_tol((got) / (expected), 1, RELATIVE)

static const struct cw_surroundings still = {.density_kgm3 = 1.2, .gravity_ms2 = 9.80665};

static struct cw_bicycle bicycle(double mass_kg, double turning_kg) {
    return (struct cw_bicycle){.mass_kg = mass_kg,
                               .cda_m2 = 0.32,
                               .crr = 0.005,
                               .wheel_inertia_kgm2 = turning_kg,
                               .wheel_radius_m = 1,
                               .frictionless_bearings = true};
}

/* A slope up to break_m and another one after it. */
struct bend {
    double first_sine, break_m, second_sine;
};

static double bend_slope(double s_m, const void *state) {
    const struct bend *bend = state;
    return s_m < bend->break_m ? bend->first_sine : bend->second_sine;
}

static double bend_height(double s_m, const void *state) {
    const struct bend *bend = state;
    return s_m < bend->break_m
               ? bend->first_sine * s_m
               : bend->first_sine * bend->break_m + bend->second_sine * (s_m - bend->break_m);
}

static struct bend straight(double grade_percent) {
    double sine = sin(atan(grade_percent / 100));
    return (struct bend){sine, 0, sine};
}

static struct cw_descent coast(const struct cw_bicycle *who, const struct bend *bend,
                               double length_m, double start_speed_ms, double step_s) {
    struct cw_descent_road road = {bend_height, bend_slope, bend, length_m};
    struct cw_descent_options options = cw_descent_options_default();
    options.start_speed_ms = start_speed_ms;
    options.step_s = step_s;
    struct cw_descent descent;
    struct cw_error error = {0};
    enum cw_status status = cw_descent_run(who, &still, &road, &options, &descent, &error);
    ck_assert_msg(status == CW_OK, "%s", error.message);
    return descent;
}

START_TEST(time_and_speed_at_a_distance_from_rest) {
    static const struct {
        double mass_kg, turning_kg, grade_percent, length_m, time_s, speed_ms;
    } rows[] = {
        {83, 0, -3, 100, 29.68126256168, 6.263963464417},
        {83, 0, -3, 300, 55.35324189498, 8.916031021588},
        {83, 0, -3, 500, 76.61196767726, 9.770082420139},
        {83, 0, -3, 1000, 126.1675253236, 10.24200530551},
        {83, 1.447468, -3, 100, 29.91953007408, 6.221431847115},
        {83, 1.447468, -3, 300, 55.73060594499, 8.880262106416},
        {83, 1.447468, -3, 500, 77.0545572821, 9.748363020486},
        {83, 1.447468, -3, 1000, 126.6647347031, 10.23782643505},
        {83, 0, -5, 100, 22.13194290586, 8.40063364771},
        {83, 0, -5, 300, 41.27434898458, 11.95733510092},
        {83, 0, -5, 500, 57.12599627509, 13.102707828},
        {83, 0, -5, 1000, 94.07728061545, 13.73560603893},
        {83, 1.447468, -5, 100, 22.30960795531, 8.343594276802},
        {83, 1.447468, -5, 300, 41.55573188034, 11.90936522466},
        {83, 1.447468, -5, 500, 57.45601484639, 13.07357982932},
        {83, 1.447468, -5, 1000, 94.44802662316, 13.73000173424},
        {83, 0, -10, 100, 15.2606574335, 12.18311498534},
        {83, 0, -10, 300, 28.45993699349, 17.34126192879},
        {83, 0, -10, 500, 39.39013684473, 19.00235182037},
        {83, 0, -10, 1000, 64.86918739373, 19.92021968619},
        {83, 1.447468, -10, 100, 15.3831629663, 12.10039298559},
        {83, 1.447468, -10, 300, 28.65395918116, 17.27169306733},
        {83, 1.447468, -10, 500, 39.61769483115, 18.96010860728},
        {83, 1.447468, -10, 1000, 65.12482820406, 19.91209197925},
        {91, 0, -3, 100, 29.58254992917, 6.323255100184},
        {91, 0, -3, 300, 54.82877376928, 9.132134427565},
        {91, 0, -3, 500, 75.47978546515, 10.10264521893},
        {91, 0, -3, 1000, 123.109984787, 10.69760553741},
        {91, 0, -5, 100, 22.05833746733, 8.480149965658},
        {91, 0, -5, 300, 40.8832773922, 12.24715249114},
        {91, 0, -5, 500, 56.28178043267, 13.54870950942},
        {91, 0, -5, 1000, 91.79741423684, 14.34661385527},
        {91, 0, -10, 100, 15.20990421281, 12.29843443449},
        {91, 0, -10, 300, 28.19028106547, 17.7615729122},
        {91, 0, -10, 500, 38.8080239762, 19.64917085762},
        {91, 0, -10, 1000, 63.29714918877, 20.80634075701},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cw_bicycle who = bicycle(rows[i].mass_kg, rows[i].turning_kg);
        struct bend bend = straight(rows[i].grade_percent);
        struct cw_descent descent = coast(&who, &bend, rows[i].length_m, 0, 1);
        CHECK_CLOSE(descent.end_time_s, rows[i].time_s);
        CHECK_CLOSE(descent.end_speed_ms, rows[i].speed_ms);
        ck_assert_double_eq(descent.end_s_m, rows[i].length_m);
        ck_assert(!descent.stopped);
        cw_descent_free(&descent);
    }
}
END_TEST

START_TEST(place_and_speed_at_a_time_from_rest) {
    static const struct {
        double mass_kg, turning_kg, grade_percent, time_s, s_m, speed_ms;
    } rows[] = {
        {83, 0, -3, 10, 12.13875662958, 2.405280927043},
        {83, 0, -3, 30, 102.0043729972, 6.312914549501},
        {83, 0, -3, 60, 342.0504292393, 9.174421174099},
        {83, 1.447468, -3, 10, 11.93444777927, 2.36553344174},
        {83, 1.447468, -3, 30, 100.5011326774, 6.23371792325},
        {83, 1.447468, -3, 60, 338.4432936676, 9.12149581525},
        {83, 0, -5, 10, 21.67283331921, 4.263562948316},
        {83, 0, -5, 30, 173.8293626925, 10.26066172007},
        {83, 0, -5, 60, 537.827286019, 13.2176957334},
        {83, 1.447468, -5, 10, 21.31322090432, 4.195109188453},
        {83, 1.447468, -5, 30, 171.5193960832, 10.15801173734},
        {83, 1.447468, -5, 60, 533.3962721645, 13.17884125394},
        {83, 0, -10, 10, 44.78280711806, 8.659754150508},
        {83, 0, -10, 30, 326.9700023213, 17.67631638454},
        {83, 0, -10, 60, 903.1303480113, 19.86446693252},
        {83, 1.447468, -10, 10, 44.06487235336, 8.530152667322},
        {83, 1.447468, -10, 30, 323.4520977025, 17.56906509739},
        {83, 1.447468, -10, 60, 898.1028338204, 19.84914518784},
        {91, 0, -3, 10, 12.14864659836, 2.409180888823},
        {91, 0, -3, 30, 102.65359304, 6.389963749993},
        {91, 0, -3, 60, 348.0893082761, 9.455732662343},
        {91, 0, -5, 10, 21.70411576971, 4.275762222556},
        {91, 0, -5, 30, 175.6090768426, 10.45618703818},
        {91, 0, -5, 60, 550.7215702924, 13.72763232113},
        {91, 0, -10, 10, 44.91388194218, 8.709523461994},
        {91, 0, -10, 30, 332.5526682503, 18.20369442911},
        {91, 0, -10, 60, 931.4801631563, 20.75423105942},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cw_bicycle who = bicycle(rows[i].mass_kg, rows[i].turning_kg);
        struct bend bend = straight(rows[i].grade_percent);
        struct cw_descent descent = coast(&who, &bend, 2000, 0, 2.5);
        size_t at = (size_t)lround(rows[i].time_s / 2.5);
        ck_assert_double_eq_tol(descent.time_s[at], rows[i].time_s, 1e-12);
        CHECK_CLOSE(descent.s_m[at], rows[i].s_m);
        CHECK_CLOSE(descent.speed_ms[at], rows[i].speed_ms);
        cw_descent_free(&descent);
    }
}
END_TEST

START_TEST(speed_and_time_after_300_m_from_a_rolling_start) {
    static const struct {
        double mass_kg, turning_kg, grade_percent, start_ms, speed_ms, time_s;
    } rows[] = {
        {83, 0, -3, 5, 9.259333600199, 39.46724839116},
        {83, 0, -3, 20, 13.39141522945, 18.81090142061},
        {83, 1.447468, -3, 5, 9.233034521593, 39.58970093871},
        {83, 1.447468, -3, 20, 13.45722844612, 18.74922161112},
        {83, 0, -5, 5, 12.21546201573, 31.90547525121},
        {83, 0, -5, 20, 15.5824341932, 17.3478404673},
        {83, 1.447468, -5, 5, 12.17468075362, 32.03287922794},
        {83, 1.447468, -5, 20, 15.62276935843, 17.31505757508},
        {83, 0, -10, 5, 17.52024585515, 23.74841302207},
        {83, 0, -10, 20, 20.01383916075, 14.99364937432},
        {83, 1.447468, -10, 5, 17.45569399395, 23.86340631062},
        {83, 1.447468, -10, 20, 20.0137283829, 14.99371878735},
        {91, 0, -3, 5, 9.510272021923, 38.89457362472},
        {91, 0, -3, 20, 14.00664823749, 18.31183547582},
        {91, 0, -5, 5, 12.53164549726, 31.48835065788},
        {91, 0, -5, 20, 16.21058480706, 16.93561168805},
        {91, 0, -10, 5, 17.95892165591, 23.46791819377},
        {91, 0, -10, 20, 20.69453521974, 14.69248396772},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cw_bicycle who = bicycle(rows[i].mass_kg, rows[i].turning_kg);
        struct bend bend = straight(rows[i].grade_percent);
        struct cw_descent descent = coast(&who, &bend, 300, rows[i].start_ms, 1);
        CHECK_CLOSE(descent.end_speed_ms, rows[i].speed_ms);
        CHECK_CLOSE(descent.end_time_s, rows[i].time_s);
        cw_descent_free(&descent);
    }
}
END_TEST

/* The integral of v2 ds over 500 m from rest, here of v3 dt by Simpson's rule at 0.05 s. */
START_TEST(drag_integral_over_500_m) {
    static const struct {
        double mass_kg, turning_kg, grade_percent, integral;
    } rows[] = {
        {83, 0, -3, 32335.73853043},  {83, 1.447468, -3, 32069.15617174},
        {83, 0, -5, 58157.86346224},  {83, 1.447468, -5, 57678.3982908},
        {83, 0, -10, 122321.0044854}, {83, 1.447468, -10, 121312.5654216},
        {91, 0, -3, 33886.25751435},  {91, 0, -5, 60946.56956455},
        {91, 0, -10, 128186.3735231},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cw_bicycle who = bicycle(rows[i].mass_kg, rows[i].turning_kg);
        struct bend bend = straight(rows[i].grade_percent);
        struct cw_descent whole = coast(&who, &bend, 500, 0, 1);
        struct cw_descent descent = coast(&who, &bend, 500, 0, whole.end_time_s / 1000);
        ck_assert_uint_ge(descent.n, 1001);
        double sum = 0;
        for (size_t k = 0; k <= 1000; k++)
            sum += (k == 0 || k == 1000 ? 1 : k % 2 ? 4 : 2) * pow(descent.speed_ms[k], 3);
        CHECK_CLOSE(sum * whole.end_time_s / 3000, rows[i].integral);
        cw_descent_free(&descent);
        cw_descent_free(&whole);
    }
}
END_TEST

START_TEST(standstill_on_the_flat) {
    static const struct {
        double mass_kg, start_ms, time_s, s_m;
    } rows[] = {
        {83, 8, 98.45730279537, 300.6844499344},  {83, 12, 113.0920336304, 443.8106833887},
        {83, 15, 119.5277441033, 530.0515726743}, {91, 8, 101.1152820817, 313.4753138171},
        {91, 12, 116.8781603241, 467.6938940641}, {91, 15, 123.8624366512, 561.2927651807},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cw_bicycle who = bicycle(rows[i].mass_kg, 0);
        struct bend bend = straight(0);
        struct cw_descent descent = coast(&who, &bend, 5000, rows[i].start_ms, 1);
        ck_assert(descent.stopped);
        ck_assert_double_eq(descent.end_speed_ms, 0);
        CHECK_CLOSE(descent.end_time_s, rows[i].time_s);
        CHECK_CLOSE(descent.end_s_m, rows[i].s_m);
        cw_descent_free(&descent);
    }
}
END_TEST

START_TEST(speed_and_place_on_the_flat) {
    static const struct {
        double mass_kg, start_ms, time_s, speed_ms, s_m;
    } rows[] = {
        {83, 8, 10, 6.331623100282, 71.20037464353},  {83, 8, 30, 4.112584969041, 173.886089712},
        {83, 12, 10, 9.000002378201, 103.8012714891}, {83, 12, 30, 5.625693077249, 246.3569493861},
        {83, 15, 10, 10.76002537538, 126.7335685593}, {83, 15, 30, 6.485803862099, 293.7077822274},
        {91, 8, 10, 6.420493898724, 71.70436799503},  {91, 8, 30, 4.256642787966, 176.8756319623},
        {91, 12, 10, 9.17654414426, 104.8431095546},  {91, 12, 30, 5.875171392984, 251.9509163341},
        {91, 15, 10, 11.01107765786, 128.2600521667}, {91, 15, 30, 6.808677913406, 301.3573409544},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cw_bicycle who = bicycle(rows[i].mass_kg, 0);
        struct bend bend = straight(0);
        struct cw_descent descent = coast(&who, &bend, 5000, rows[i].start_ms, 5);
        size_t at = (size_t)lround(rows[i].time_s / 5);
        CHECK_CLOSE(descent.speed_ms[at], rows[i].speed_ms);
        CHECK_CLOSE(descent.s_m[at], rows[i].s_m);
        cw_descent_free(&descent);
    }
}
END_TEST

/* Slowing from one speed to another is the difference of two times to standstill. */
START_TEST(time_between_two_speeds_on_the_flat) {
    static const struct {
        double mass_kg, from_ms, to_ms, time_s;
    } rows[] = {
        {83, 12, 8, 14.63473083504},
        {83, 10, 6, 20.94173853497},
        {83, 8, 4, 31.29270491858},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cw_bicycle who = bicycle(rows[i].mass_kg, 0);
        struct bend bend = straight(0);
        struct cw_descent from = coast(&who, &bend, 5000, rows[i].from_ms, 1);
        struct cw_descent to = coast(&who, &bend, 5000, rows[i].to_ms, 1);
        CHECK_CLOSE(from.end_time_s - to.end_time_s, rows[i].time_s);
        cw_descent_free(&from);
        cw_descent_free(&to);
    }
}
END_TEST

/* From rest, 400 m at -5 %, then +4 % to standstill. The corner costs the solver some digits: 1e-8.
 */
START_TEST(run_out_after_a_dip) {
    static const struct {
        double mass_kg, bottom_ms, s_m, height_m, time_s;
    } rows[] = {
        {83, 12.67246253086, 132.0893130339, 5.279350728814, 23.25143327741},
        {91, 13.04877209224, 141.2244318794, 5.644463509152, 24.07290210738},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cw_bicycle who = bicycle(rows[i].mass_kg, 0);
        struct bend bend = {sin(atan(-0.05)), 400, sin(atan(0.04))};
        struct cw_descent down = coast(&who, &bend, 400, 0, 1);
        struct cw_descent whole = coast(&who, &bend, 2000, 0, 1);
        CHECK_CLOSE(down.end_speed_ms, rows[i].bottom_ms);
        ck_assert(whole.stopped);
        ck_assert_double_eq_tol((whole.end_s_m - 400) / rows[i].s_m, 1, 1e-8);
        ck_assert_double_eq_tol((bend_height(whole.end_s_m, &bend) - bend_height(400, &bend)) /
                                    rows[i].height_m,
                                1, 1e-8);
        ck_assert_double_eq_tol((whole.end_time_s - down.end_time_s) / rows[i].time_s, 1, 1e-8);
        cw_descent_free(&down);
        cw_descent_free(&whole);
    }
}
END_TEST

START_TEST(eight_kilograms_gain_time) {
    static const struct {
        double grade_percent, gain_s;
    } rows[] = {
        {-3, 1.132182212108},
        {-5, 0.8442158424137},
        {-10, 0.5821128685271},
    };
    for (size_t i = 0; i < COUNT(rows); i++) {
        struct cw_bicycle light = bicycle(83, 0), heavy = bicycle(91, 0);
        struct bend bend = straight(rows[i].grade_percent);
        struct cw_descent slow = coast(&light, &bend, 500, 0, 1);
        struct cw_descent fast = coast(&heavy, &bend, 500, 0, 1);
        /* A difference of two times of 40 to 80 s. */
        ck_assert_double_eq_tol(slow.end_time_s - fast.end_time_s, rows[i].gain_s, 1e-8);
        cw_descent_free(&slow);
        cw_descent_free(&fast);
    }
    /* Terminal speeds, reached within 1e-9 after 8 km, go as the root of the mass: sqrt(91/83). */
    struct cw_bicycle light = bicycle(83, 0), heavy = bicycle(91, 0);
    struct bend bend = straight(-5);
    struct cw_descent slow = coast(&light, &bend, 8000, 0, 1);
    struct cw_descent fast = coast(&heavy, &bend, 8000, 0, 1);
    ck_assert_double_eq_tol(fast.end_speed_ms / slow.end_speed_ms, 1.047084305187, 1e-9);
    cw_descent_free(&slow);
    cw_descent_free(&fast);
}
END_TEST

/* Common practice, no source: about 8 kg more on a held start makes 0.75 km at -10 % about 1.5 s
 * quicker, some 3 %. A rider sitting upright, 0.5 m2. */
START_TEST(eight_kilograms_on_a_steep_hill) {
    struct bend bend = straight(-10);
    struct cw_bicycle light = {.mass_kg = 83,
                               .cda_m2 = 0.5,
                               .crr = 0.006,
                               .wheel_inertia_kgm2 = 0.14,
                               .wheel_radius_m = 0.334};
    struct cw_bicycle heavy = light;
    heavy.mass_kg += 8;
    struct cw_descent slow = coast(&light, &bend, 750, 0, 1);
    struct cw_descent fast = coast(&heavy, &bend, 750, 0, 1);
    double gain_s = slow.end_time_s - fast.end_time_s;
    ck_assert_double_eq_tol(gain_s, 1.5, 0.2);
    ck_assert_double_eq_tol(gain_s / slow.end_time_s, 0.03, 0.005);
    cw_descent_free(&slow);
    cw_descent_free(&fast);
}
END_TEST

/* A saw-tooth gust: straight pieces with corners every 0.5 s. */
static double sawtooth(double time_s, const void *state) {
    (void)state;
    double phase = fmod(time_s, 1);
    return phase < 0.5 ? phase : 1 - phase;
}

/* With its corners named, a gust made of pieces comes out as exactly as a smooth one: a looser
 * solver lands where a tight one does. */
START_TEST(gust_corners_are_not_stepped_across) {
    struct bend bend = straight(-6);
    struct cw_bicycle who = bicycle(83, 0);
    struct cw_descent_road road = {bend_height, bend_slope, &bend, 700};
    struct cw_descent_options options = cw_descent_options_default();
    options.gust = sawtooth;
    options.gust_knot_s = 0.5;
    options.relative_error = 1e-8;
    struct cw_descent loose, tight;
    ck_assert_int_eq(cw_descent_run(&who, &still, &road, &options, &loose, NULL), CW_OK);
    options.relative_error = 1e-12;
    ck_assert_int_eq(cw_descent_run(&who, &still, &road, &options, &tight, NULL), CW_OK);
    CHECK_CLOSE(loose.end_time_s, tight.end_time_s);
    struct cw_descent calm = coast(&who, &bend, 700, 0, 1);
    ck_assert_double_gt(tight.end_time_s, calm.end_time_s + 0.5);
    cw_descent_free(&loose);
    cw_descent_free(&tight);
    cw_descent_free(&calm);
}
END_TEST

/* Evenly, but only beyond 20 m. */
static double late_brake(double time_s, double s_m, const void *state) {
    (void)time_s;
    return *(const double *)state * fmin(1, fmax(0, (s_m - 20) / 1e-3));
}

/* Without air and rolling a level run keeps its speed up to the brake and stops v2/2b behind it. */
START_TEST(a_brake_stops_where_it_should) {
    struct bend bend = straight(0);
    struct cw_bicycle who = bicycle(83, 0);
    who.cda_m2 = who.crr = 0;
    struct cw_descent_road road = {bend_height, bend_slope, &bend, 700};
    struct cw_descent_options options = cw_descent_options_default();
    const double brake_ms2 = 1.3;
    options.start_speed_ms = 7;
    options.brake = late_brake;
    options.brake_state = &brake_ms2;
    struct cw_descent descent;
    ck_assert_int_eq(cw_descent_run(&who, &still, &road, &options, &descent, NULL), CW_OK);
    ck_assert(descent.stopped);
    /* The brake comes on over a millimetre. */
    ck_assert_double_eq_tol(descent.end_s_m, 20 + 49 / 2.6, 1e-3);
    ck_assert_double_eq_tol(descent.end_time_s, 20 / 7.0 + 7 / 1.3, 1e-3);
    cw_descent_free(&descent);
}
END_TEST

START_TEST(what_cannot_roll_stands_still) {
    struct cw_bicycle who = bicycle(83, 0);
    struct bend bend = straight(-0.4);
    struct cw_descent descent = coast(&who, &bend, 100, 0, 1);
    ck_assert(descent.stopped);
    ck_assert_uint_eq(descent.n, 1);
    ck_assert_double_eq(descent.end_s_m, 0);
    cw_descent_free(&descent);
}
END_TEST

START_TEST(wrong_arguments_are_refused) {
    struct cw_bicycle none = bicycle(0, 0), who = bicycle(83, 0);
    struct bend bend = straight(-5);
    struct cw_descent_road road = {bend_height, bend_slope, &bend, 100};
    struct cw_descent descent;
    struct cw_error error = {0};
    ck_assert_int_eq(cw_descent_run(&none, &still, &road, NULL, &descent, &error), CW_E_ARGUMENT);
    struct cw_descent_options options = cw_descent_options_default();
    options.step_s = 0;
    ck_assert_int_eq(cw_descent_run(&who, &still, &road, &options, &descent, &error),
                     CW_E_ARGUMENT);
    options.step_s = INFINITY;
    ck_assert_int_eq(cw_descent_run(&who, &still, &road, &options, &descent, &error),
                     CW_E_ARGUMENT);
    options = cw_descent_options_default();
    options.time_limit_s = 5;
    ck_assert_int_eq(cw_descent_run(&who, &still, &road, &options, &descent, &error), CW_E_DATA);
    cw_descent_free(&descent);
    options = cw_descent_options_default();
    options.relative_error = 1e-300;
    ck_assert_int_eq(cw_descent_run(&who, &still, &road, &options, &descent, &error), CW_E_NUMERIC);
    cw_descent_free(&descent);
    struct bend hole = {bend.first_sine, 60, NAN}; /* 60 m down, the slope is not known */
    road.state = &hole;
    ck_assert_int_eq(cw_descent_run(&who, &still, &road, NULL, &descent, &error), CW_E_NUMERIC);
    cw_descent_free(&descent);
}
END_TEST

/* Where the first slope ends is the top; within a step it is found by the speed's own curve. */
START_TEST(where_it_is_fastest) {
    struct cw_bicycle who = bicycle(83, 0);
    struct bend dip = {sin(atan(-0.05)), 400, sin(atan(0.04))};
    struct cw_descent corner = coast(&who, &dip, 2000, 0, 1);
    ck_assert_double_eq_tol(corner.top_speed_ms, 12.67246253086, 1e-8);
    ck_assert_double_eq_tol(corner.top_s_m, 400, 1e-6);
    cw_descent_free(&corner);
    struct bend flat = straight(0);
    struct cw_descent slows = coast(&who, &flat, 2000, 12, 1);
    ck_assert_double_eq(slows.top_speed_ms, 12);
    ck_assert_double_eq(slows.top_s_m, 0);
    ck_assert_double_eq(slows.top_time_s, 0);
    cw_descent_free(&slows);
    struct bend slope = straight(-3);
    struct cw_descent ever = coast(&who, &slope, 500, 0, 1);
    ck_assert_double_eq(ever.top_speed_ms, ever.end_speed_ms);
    ck_assert_double_eq(ever.top_time_s, ever.end_time_s);
    cw_descent_free(&ever);
}
END_TEST

/* A slope that eases off evenly, from -6 % to +6 % over 600 m: the speed turns where it would be
 * terminal, which is where g (sine + Crr cosine) = -b v2. */
static double easing_slope(double s_m, const void *state) {
    (void)state;
    return -0.06 + 0.0002 * s_m;
}

START_TEST(the_top_within_a_step) {
    struct cw_bicycle who = bicycle(83, 0);
    struct cw_descent_road road = {NULL, easing_slope, NULL, 600};
    struct cw_descent_options options = cw_descent_options_default();
    struct cw_descent descent, fine;
    options.step_s = 7;
    ck_assert_int_eq(cw_descent_run(&who, &still, &road, &options, &descent, NULL), CW_OK);
    options.step_s = 0.01;
    ck_assert_int_eq(cw_descent_run(&who, &still, &road, &options, &fine, NULL), CW_OK);
    double sine = easing_slope(descent.top_s_m, NULL);
    double drag = 0.5 * 1.2 * 0.32 / 83 * descent.top_speed_ms * descent.top_speed_ms;
    ck_assert_double_eq_tol(-9.80665 * (sine + 0.005 * sqrt(1 - sine * sine)) / drag, 1, 1e-4);
    double top = 0;
    for (size_t i = 0; i < fine.n; i++) top = fmax(top, fine.speed_ms[i]);
    ck_assert_double_eq_tol(descent.top_speed_ms, top, 1e-6);
    cw_descent_free(&descent);
    cw_descent_free(&fine);
}
END_TEST

/* Without losses all power goes into speed: m v2 / 2 grows by P t once it is past 1 m/s. */
START_TEST(power_goes_into_speed) {
    struct cw_bicycle who = bicycle(80, 0);
    who.cda_m2 = who.crr = 0;
    struct bend flat = straight(0);
    struct cw_descent_road road = {bend_height, bend_slope, &flat, 500};
    struct cw_descent_options options = cw_descent_options_default();
    struct cw_descent descent;
    options.start_speed_ms = 2;
    options.power_w = 240;
    options.first_s = 0.25;
    ck_assert_int_eq(cw_descent_run(&who, &still, &road, &options, &descent, NULL), CW_OK);
    ck_assert_double_eq_tol(descent.time_s[1], 0.25, 1e-12);
    ck_assert_double_eq_tol(descent.time_s[3], 2.25, 1e-12);
    for (size_t i = 0; i < descent.n; i++)
        ck_assert_double_eq_tol(0.5 * 80 * pow(descent.speed_ms[i], 2),
                                0.5 * 80 * 4 + 240 * descent.time_s[i], 1e-6);
    cw_descent_free(&descent);
    options.power_w = -1;
    ck_assert_int_eq(cw_descent_run(&who, &still, &road, &options, &descent, NULL), CW_E_ARGUMENT);
}
END_TEST

/* On one slope, in air that thins with height, v2 is the solution of a linear equation,
 *
 *   d(v2)/ds = 2 a - 2 b(s) v2,   v2 = 2 a integral of exp(-2 (B(s) - B(u))) du from 0 to s
 *
 * with a what gravity and tyres leave, b = rho CdA / 2 m and B its integral: a power of the
 * temperature, as rho is (ISO 2533's lapse and the hydrostatic equation, about 287.05 J/(kg K)). */
START_TEST(air_thins_with_height) {
    enum { PIECES = 20000 };
    const double length_m = 4000, kelvin = 283.15, gas = 287.05, lapse_km = 0.0065,
                 power = 9.80665 / (gas * lapse_km);
    struct cw_bicycle who = bicycle(83, 0);
    struct bend steep = straight(-8);
    struct cw_surroundings air = still;
    struct cw_descent_options options = cw_descent_options_default();
    struct cw_descent descent, even;
    struct cw_descent_road road = {bend_height, bend_slope, &steep, length_m};
    double sine = steep.first_sine, up_m = length_m * sine / 2;
    air.column =
        (struct cw_air_column){.height_m = up_m, .cooling_1m = lapse_km / kelvin, .power = power};
    ck_assert_int_eq(cw_descent_run(&who, &air, &road, &options, &descent, NULL), CW_OK);
    ck_assert_int_eq(cw_descent_run(&who, &still, &road, &options, &even, NULL), CW_OK);
    double a = -9.80665 * (sine + 0.005 * sqrt(1 - sine * sine)), sum = 0, end = 0;
    for (int i = PIECES; i >= 0; i--) { /* Simpson's rule */
        double s = length_m * i / PIECES, part = 1 - lapse_km / kelvin * (sine * s - up_m);
        double whole =
            -0.5 * 1.2 * 0.32 / 83 * pow(part, power) * kelvin / (lapse_km * sine * power);
        if (i == PIECES) end = whole;
        sum += (i == 0 || i == PIECES ? 1 : i % 2 ? 4 : 2) * exp(-2 * (end - whole));
    }
    double v = sqrt(2 * a * sum * length_m / (3.0 * PIECES));
    ck_assert_double_eq_tol(descent.end_speed_ms, v, 1e-8);
    /* Some 150 m below the middle, the air is 1.6 % denser: half of that slower. */
    ck_assert_double_eq_tol(descent.end_speed_ms / even.end_speed_ms, 1 - 0.0075, 1e-3);
    cw_descent_free(&descent);
    cw_descent_free(&even);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("physics_descent");
    TCase *cases = tcase_create("physics_descent");
    tcase_add_test(cases, where_it_is_fastest);
    tcase_add_test(cases, the_top_within_a_step);
    tcase_add_test(cases, power_goes_into_speed);
    tcase_add_test(cases, air_thins_with_height);
    tcase_add_test(cases, time_and_speed_at_a_distance_from_rest);
    tcase_add_test(cases, place_and_speed_at_a_time_from_rest);
    tcase_add_test(cases, speed_and_time_after_300_m_from_a_rolling_start);
    tcase_add_test(cases, drag_integral_over_500_m);
    tcase_add_test(cases, standstill_on_the_flat);
    tcase_add_test(cases, speed_and_place_on_the_flat);
    tcase_add_test(cases, time_between_two_speeds_on_the_flat);
    tcase_add_test(cases, run_out_after_a_dip);
    tcase_add_test(cases, eight_kilograms_gain_time);
    tcase_add_test(cases, eight_kilograms_on_a_steep_hill);
    tcase_add_test(cases, gust_corners_are_not_stepped_across);
    tcase_add_test(cases, a_brake_stops_where_it_should);
    tcase_add_test(cases, what_cannot_roll_stands_still);
    tcase_add_test(cases, wrong_arguments_are_refused);
    suite_add_tcase(suite, cases);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
