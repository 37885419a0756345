#include <check.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/write.h"

static char folder[] = "write.XXXXXX";

static void make(void) {
    ck_assert_ptr_nonnull(mkdtemp(folder));
    ck_assert_int_eq(chdir(folder), 0);
}

static void end(void) {
    remove("page");
    remove("pipe");
    ck_assert_int_eq(chdir(".."), 0);
    /* Fails where anything else was left behind. */
    ck_assert_int_eq(rmdir(folder), 0);
    memcpy(folder + strlen("write."), "XXXXXX", 6);
}

static void expect(const char *content) {
    char bytes[64] = "";
    FILE *file = fopen("page", "rb");
    ck_assert_ptr_nonnull(file);
    size_t length = fread(bytes, 1, sizeof bytes - 1, file);
    fclose(file);
    ck_assert_uint_eq(length, strlen(content));
    ck_assert_str_eq(bytes, content);
}

START_TEST(a_file_appears_and_is_replaced) {
    struct cw_error error;
    struct stat about;
    ck_assert_int_eq(cw_file_write("page", "old", 3, &error), CW_OK);
    expect("old");
    ck_assert_int_eq(cw_file_write("page", "newer", 5, &error), CW_OK);
    expect("newer");
    mode_t mask = umask(0);
    umask(mask);
    ck_assert_int_eq(stat("page", &about), 0);
    ck_assert_uint_eq(about.st_mode & 0777, 0666 & ~mask);
}
END_TEST

/* A limit on the size of files stands for a full disk. */
START_TEST(without_room_the_old_file_stays) {
    struct cw_error error;
    static char large[100000];
    struct rlimit limit = {4096, 4096};
    ck_assert_int_eq(cw_file_write("page", "old", 3, &error), CW_OK);
    signal(SIGXFSZ, SIG_IGN);
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &limit), 0);
    ck_assert_int_eq(cw_file_write("page", large, sizeof large, &error), CW_E_WRITE);
    ck_assert_str_eq(error.file, "page");
    expect("old");
}
END_TEST

/* A rename would put a file in the place of the device, for every program there is. */
START_TEST(devices_and_folders_stay_what_they_are) {
    struct cw_error error;
    struct stat about;
    ck_assert_int_eq(cw_file_write("/dev/null", "x", 1, &error), CW_OK);
    ck_assert_int_eq(stat("/dev/null", &about), 0);
    ck_assert(S_ISCHR(about.st_mode));
    ck_assert_int_eq(cw_file_write("/dev/full", "x", 1, &error), CW_E_WRITE);
    ck_assert_int_eq(stat("/dev/full", &about), 0);
    ck_assert(S_ISCHR(about.st_mode));
    ck_assert_int_eq(cw_file_write(".", "x", 1, &error), CW_E_WRITE);
    ck_assert_int_eq(cw_file_write("missing/page", "x", 1, &error), CW_E_WRITE);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("base_write");
    TCase *tests = tcase_create("write");
    tcase_add_checked_fixture(tests, make, end);
    tcase_add_test(tests, a_file_appears_and_is_replaced);
    tcase_add_test(tests, without_room_the_old_file_stays);
    tcase_add_test(tests, devices_and_folders_stay_what_they_are);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
