#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <zlib.h>

#include "base/write.h"
#include "outing/input.h"

static char folder[64];
static struct cw_input input;
static struct cw_error error;

static const char outing[] = "\n; an outing\n[outing]\nrecordings = a.gpx\n"
                             "[rider]\nmass_kg = 70\n[bike]\nmass_kg = 9\n";
static const char recording[] =
    "<?xml version=\"1.0\"?><gpx version=\"1.1\" xmlns=\"http://www.topografix.com/GPX/1/1\"><trk>"
    "<trkseg><trkpt lat=\"1\" lon=\"2\"><ele>3</ele><time>2001-09-09T01:46:40Z</time></trkpt>"
    "<trkpt lat=\"1.0001\" lon=\"2\"><ele>4</ele><time>2001-09-09T01:46:41Z</time></trkpt>"
    "</trkseg></trk></gpx>";

static void put(const char *name, const char *text) {
    ck_assert_int_eq(cw_file_write(name, text, strlen(text), &error), CW_OK);
}

static void begin(void) {
    strcpy(folder, "/tmp/input-test-XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(folder));
    ck_assert_int_eq(chdir(folder), 0);
    put("a.gpx", recording);
    put("b.gpx", outing); /* content counts, not the name */
    gzFile file = gzopen("c.gz", "wb");
    ck_assert_ptr_nonnull(file);
    ck_assert_int_eq(gzputs(file, outing), (int)strlen(outing));
    gzclose(file);
}

static void end(void) {
    cw_input_free(&input);
    ck_assert_int_eq(unlink("a.gpx") | unlink("b.gpx") | unlink("c.gz"), 0);
    unlink("d.gz");
    unlink("pipe");
    ck_assert_int_eq(chdir("/"), 0);
    ck_assert_int_eq(rmdir(folder), 0);
}

START_TEST(content_tells_an_outing_from_a_recording) {
    ck_assert_int_eq(cw_input_read("a.gpx", &input, &error), CW_OK);
    ck_assert(!input.is_outing);
    ck_assert_uint_eq(input.recording.samples.n, 2);
    cw_input_free(&input);
    ck_assert_msg(cw_input_read("b.gpx", &input, &error) == CW_OK, "%s", error.message);
    ck_assert(input.is_outing);
    ck_assert_str_eq(input.outing.recordings[0], "a.gpx");
    cw_input_free(&input);
    ck_assert_int_eq(cw_input_read("c.gz", &input, &error), CW_OK);
    ck_assert(input.is_outing && input.outing.rider.mass_kg == 70);
}
END_TEST

static void wait_ms(long ms) {
    struct timespec pause = {0, ms * 1000000};
    nanosleep(&pause, NULL);
}

/* The bytes of a file come through a pipe one by one, the first after a while. */
static pid_t trickle(const char *name) {
    ck_assert_int_eq(mkfifo("pipe", 0600), 0);
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child) return child;
    FILE *from = fopen(name, "rb");
    FILE *to = fopen("pipe", "wb");
    if (!from || !to) _exit(1);
    setvbuf(to, NULL, _IONBF, 0);
    wait_ms(20);
    for (int c; (c = getc(from)) != EOF; wait_ms(1))
        if (putc(c, to) == EOF) _exit(1); /* the reader has gone */
    _exit(0);
}

static void end_trickle(pid_t child) {
    int status;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert_int_eq(status, 0);
    ck_assert_int_eq(unlink("pipe"), 0);
}

/* Regression: a recording was opened again once it was known for one, and what had been looked at
 * was gone if it came through a pipe. */
START_TEST(a_pipe_is_read_from_its_beginning) {
    static const char *const names[] = {"a.gpx", "b.gpx", "c.gz"};
    for (size_t i = 0; i < 3; i++) {
        pid_t child = trickle(names[i]);
        ck_assert_msg(cw_input_read("pipe", &input, &error) == CW_OK, "%s: %s", names[i],
                      error.message);
        ck_assert(input.is_outing == (i > 0));
        if (i == 0) {
            ck_assert_uint_eq(input.recording.samples.n, 2);
            ck_assert_str_eq(input.recording.file, "pipe");
        } else {
            ck_assert_double_eq(input.outing.rider.mass_kg, 70);
        }
        cw_input_free(&input);
        end_trickle(child);
    }
}
END_TEST

START_TEST(a_cut_gzip_of_an_outing_is_refused) {
    ck_assert_int_eq(system("head -c 60 c.gz >d.gz"), 0);
    ck_assert_int_eq(cw_input_read("d.gz", &input, &error), CW_E_FORMAT);
    ck_assert_str_eq(error.file, "d.gz");
}
END_TEST

START_TEST(what_is_not_there_is_said) {
    ck_assert_int_eq(cw_input_read("nowhere", &input, &error), CW_E_READ);
    ck_assert_str_eq(error.file, "nowhere");
    ck_assert_int_eq(cw_input_read("/", &input, &error), CW_E_READ);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("outing_input");
    TCase *tests = tcase_create("inputs");
    tcase_add_checked_fixture(tests, begin, end);
    tcase_add_test(tests, content_tells_an_outing_from_a_recording);
    tcase_add_test(tests, a_pipe_is_read_from_its_beginning);
    tcase_add_test(tests, a_cut_gzip_of_an_outing_is_refused);
    tcase_add_test(tests, what_is_not_there_is_said);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
