/* What cadence and power say, of columns written by hand: a sample a second. */
#include <check.h>
#include <math.h>

#include "runs/pedalling.h"

enum { N = 120, NO = CW_PEDALLING_NO, YES = CW_PEDALLING_YES, UNKNOWN = CW_PEDALLING_UNKNOWN };

static double time_s[N], cadence_rpm[N], power_w[N], speed_ms[N], head_m[N], rate_ms[N], sd_ms[N];
static bool gap_before[N];
static struct cw_recording recording;
static struct cw_motion motion;
static struct cw_balance balance;
static enum cw_pedalling told[N];

/* A ride at 8 m/s that loses half a metre of head a second, with nothing recorded of its pedals. */
static void begin(void) {
    for (size_t i = 0; i < N; i++) {
        time_s[i] = (double)i;
        cadence_rpm[i] = power_w[i] = NAN;
        speed_ms[i] = 8;
        head_m[i] = 500 - 0.5 * (double)i;
        rate_ms[i] = -0.5;
        sd_ms[i] = 0.1;
        gap_before[i] = false;
    }
    recording = (struct cw_recording){
        .samples = {.n = N, .time_s = time_s, .cadence_rpm = cadence_rpm, .power_w = power_w}};
    motion = (struct cw_motion){.n = N, .speed_ms = speed_ms, .gap_before = gap_before};
    balance =
        (struct cw_balance){.n = N, .head_m = head_m, .rate_ms = rate_ms, .rate_sd_ms = sd_ms};
}

static void fill(double *column, size_t from, size_t to, double value) {
    for (size_t i = from; i < to; i++) column[i] = value;
}

/* Cadence that changes by the stroke, as a foot's does. */
static void pedal(size_t from, size_t to) {
    for (size_t i = from; i < to; i++) cadence_rpm[i] = 80 + (double)(i % 2);
}

static void tell(void) {
    recording.has_cadence = !isnan(cadence_rpm[0]);
    recording.has_power = !isnan(power_w[0]);
    cw_pedalling_tell(&recording, &motion, &balance, told);
}

static void is(size_t from, size_t to, int what) {
    for (size_t i = from; i < to; i++)
        ck_assert_msg((int)told[i] == what, "sample %zu: %d", i, (int)told[i]);
}

START_TEST(strokes_and_zeros) {
    pedal(0, 10);
    fill(cadence_rpm, 10, N, 0);
    tell();
    is(0, 10, YES);
    is(10, N, NO);
}
END_TEST

/* Stretches of 4 s count as unbroken, of 3 s as broken: at the beginning as elsewhere. */
START_TEST(zeros_between_broken_strokes_are_dropouts) {
    for (size_t from = 0; from <= 50; from += 50)
        for (size_t length = 3; length <= 4; length++) {
            fill(cadence_rpm, 0, N, 0);
            pedal(from, from + length);
            tell();
            is(from, from + length, YES);
            is(from + length, N, length == 4 ? NO : UNKNOWN);
        }
    /* The last one has no sample that ends it, and is believed. */
    fill(cadence_rpm, 0, N, 0);
    pedal(N - 2, N);
    tell();
    is(0, N - 2, NO);
}
END_TEST

/* Half of the strokes broken is too many. */
START_TEST(half_of_them_broken) {
    fill(cadence_rpm, 0, N, 0);
    pedal(10, 16);
    for (size_t i = 0; i < 5; i++) pedal(30 + 5 * i, 31 + 5 * i);
    tell();
    is(100, N, NO);
    pedal(60, 61);
    tell();
    is(100, N, UNKNOWN);
}
END_TEST

START_TEST(a_silent_sensor_is_believed_for_five_seconds) {
    pedal(0, 10);
    fill(cadence_rpm, 10, 20, 0);
    tell();
    is(10, 25, NO);
    is(25, N, UNKNOWN);
    /* After strokes silence means nothing. */
    pedal(0, 20);
    tell();
    is(20, N, UNKNOWN);
}
END_TEST

START_TEST(a_held_value_is_believed_for_ten_seconds) {
    pedal(0, 20);
    fill(cadence_rpm, 20, N, 77);
    tell();
    is(0, 31, YES);
    is(31, N, UNKNOWN);
}
END_TEST

/* Power decides where there is a value; at 0 W strokes are pedalling unless their number is held.
 */
START_TEST(power_comes_first) {
    fill(power_w, 0, 20, 150);
    fill(power_w, 20, 100, 0);
    fill(cadence_rpm, 0, 20, 0);
    pedal(20, 40);
    fill(cadence_rpm, 40, 60, 80);
    fill(cadence_rpm, 60, N, 0);
    tell();
    is(0, 40, YES);
    is(41, 100, NO);
    is(100, N, NO); /* by cadence */
    fill(power_w, 20, 30, 5);
    fill(cadence_rpm, 20, 30, 0);
    tell();
    is(20, 30, NO); /* 5 W is what a meter shows of nothing */
    fill(power_w, 20, 30, 5.1);
    tell();
    is(20, 30, YES);
}
END_TEST

/* Over a tenth of the seconds gain energy: nobody sees the pedals. */
START_TEST(a_blind_sensor_tells_nothing) {
    pedal(0, 10);
    fill(cadence_rpm, 10, N, 0);
    fill(rate_ms, 50, 60, 0.3); /* 10 of 109 */
    tell();
    is(10, N, NO);
    fill(rate_ms, 60, 61, 0.3); /* 11 of 109 */
    tell();
    is(0, N, UNKNOWN);
    fill(speed_ms, 60, 61, 1.9); /* a push with the foot */
    tell();
    is(10, N, NO);
    fill(speed_ms, 60, 61, 8);
    gap_before[60] = true;
    tell();
    is(10, N, NO);
}
END_TEST

/* Over 8 m of head in 20 s or more; the rates, over few seconds, need not show it. */
START_TEST(a_sensor_asleep_is_not_believed) {
    pedal(0, 10);
    fill(cadence_rpm, 10, 60, 0);
    pedal(60, 70);
    fill(cadence_rpm, 70, N, 0);
    for (size_t i = 20; i < 60; i++) head_m[i] = head_m[19] + 0.3 * (double)(i - 19);
    tell();
    is(0, 10, YES);
    is(10, 60, UNKNOWN);
    is(60, 70, YES);
    is(70, N, NO);
    /* A gap divides it: 6 m on either side. */
    gap_before[39] = true;
    tell();
    is(10, 60, NO);
    gap_before[39] = false;
    /* In 19 s it may be the heights' lag. */
    for (size_t i = 20; i < 60; i++) head_m[i] = head_m[19] + fmin(9, 0.5 * (double)(i - 19));
    fill(head_m, 38, 60, head_m[19]);
    tell();
    is(10, 60, NO);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("runs/pedalling");
    TCase *tests = tcase_create("pedalling");
    tcase_add_checked_fixture(tests, begin, NULL);
    tcase_add_test(tests, strokes_and_zeros);
    tcase_add_test(tests, zeros_between_broken_strokes_are_dropouts);
    tcase_add_test(tests, half_of_them_broken);
    tcase_add_test(tests, a_silent_sensor_is_believed_for_five_seconds);
    tcase_add_test(tests, a_held_value_is_believed_for_ten_seconds);
    tcase_add_test(tests, power_comes_first);
    tcase_add_test(tests, a_blind_sensor_tells_nothing);
    tcase_add_test(tests, a_sensor_asleep_is_not_believed);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_ENV);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? 1 : 0;
}
