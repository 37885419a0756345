#include <check.h>
#include <dirent.h>
#include <signal.h>
#include <stdbool.h>
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
    static const char *const made[] = {"page", "second", "real/kept", "real/new", "real/page"};
    for (size_t i = 0; i < sizeof made / sizeof *made; i++) remove(made[i]);
    rmdir("real");
    ck_assert_int_eq(chdir(".."), 0);
    /* Fails where anything else was left behind. */
    ck_assert_int_eq(rmdir(folder), 0);
    memcpy(folder + strlen("write."), "XXXXXX", 6);
}

static void expect_in(const char *name, const char *content) {
    char bytes[64] = "";
    FILE *file = fopen(name, "rb");
    ck_assert_ptr_nonnull(file);
    size_t length = fread(bytes, 1, sizeof bytes - 1, file);
    fclose(file);
    ck_assert_uint_eq(length, strlen(content));
    ck_assert_str_eq(bytes, content);
}

static void expect(const char *content) {
    expect_in("page", content);
}

static void expect_mode(const char *name, mode_t mode) {
    struct stat about;
    ck_assert_int_eq(lstat(name, &about), 0);
    ck_assert_msg((about.st_mode & 0777) == mode, "%s: %03o", name,
                  (unsigned)(about.st_mode & 0777));
}

static void expect_link(const char *name, const char *says) {
    char bytes[1100] = "";
    ck_assert_int_gt(readlink(name, bytes, sizeof bytes - 1), 0);
    ck_assert_str_eq(bytes, says);
}

START_TEST(a_file_appears_and_is_replaced) {
    struct cw_error error;
    umask(027);
    ck_assert_int_eq(cw_file_write("page", "old", 3, &error), CW_OK);
    expect("old");
    expect_mode("page", 0640);
    ck_assert_int_eq(cw_file_write("page", "newer", 5, &error), CW_OK);
    expect("newer");
    expect_mode("page", 0640);
}
END_TEST

/* Regression: a file was given the permissions of a new one. */
START_TEST(a_file_keeps_its_permissions) {
    static const mode_t modes[] = {0600, 0666, 0755, 0};
    struct cw_error error;
    umask(027);
    for (size_t i = 0; i < sizeof modes / sizeof *modes; i++) {
        ck_assert_int_eq(cw_file_write("page", "old", 3, &error), CW_OK);
        ck_assert_int_eq(chmod("page", modes[i]), 0);
        ck_assert_int_eq(cw_file_write("page", "newer", 5, &error), CW_OK);
        expect_mode("page", modes[i]);
    }
}
END_TEST

/* Regression: the link was replaced by a file. Links that lead to others, to names in their own
 * folder and to whole paths. */
START_TEST(links_stay_and_their_file_is_written) {
    struct cw_error error;
    char here[1000], path[1100];
    umask(022);
    ck_assert_int_eq(mkdir("real", 0777), 0);
    ck_assert_int_eq(cw_file_write("real/kept", "old", 3, &error), CW_OK);
    ck_assert_int_eq(chmod("real/kept", 0604), 0);
    ck_assert_int_eq(symlink("second", "page"), 0);
    ck_assert_int_eq(symlink("real/page", "second"), 0);
    ck_assert_int_eq(symlink("kept", "real/page"), 0);
    ck_assert_int_eq(cw_file_write("page", "newer", 5, &error), CW_OK);
    expect_link("page", "second");
    expect_link("second", "real/page");
    expect_link("real/page", "kept");
    expect_in("real/kept", "newer");
    expect_mode("real/kept", 0604);

    ck_assert_ptr_nonnull(getcwd(here, sizeof here));
    snprintf(path, sizeof path, "%s/real/kept", here);
    remove("page");
    ck_assert_int_eq(symlink(path, "page"), 0);
    ck_assert_int_eq(cw_file_write("page", "newest", 6, &error), CW_OK);
    expect_link("page", path);
    expect_in("real/kept", "newest");
}
END_TEST

START_TEST(a_link_to_nothing_makes_its_file) {
    struct cw_error error;
    umask(027);
    ck_assert_int_eq(symlink("real/new", "page"), 0);
    ck_assert_int_eq(cw_file_write("page", "x", 1, &error), CW_E_WRITE);
    ck_assert_str_eq(error.file, "page");
    expect_link("page", "real/new");
    ck_assert_int_eq(mkdir("real", 0777), 0);
    ck_assert_int_eq(cw_file_write("page", "first", 5, &error), CW_OK);
    expect_link("page", "real/new");
    expect_in("real/new", "first");
    expect_mode("real/new", 0640);
}
END_TEST

START_TEST(links_in_a_circle_are_refused) {
    struct cw_error error;
    ck_assert_int_eq(symlink("second", "page"), 0);
    ck_assert_int_eq(symlink("page", "second"), 0);
    ck_assert_int_eq(cw_file_write("page", "x", 1, &error), CW_E_WRITE);
    expect_link("page", "second");
    expect_link("second", "page");
}
END_TEST

/* What another program added to a stream must stay in it, be it a file. */
START_TEST(a_stream_is_added_to) {
    struct cw_error error;
    char name[32];
    FILE *file = fopen("page", "a");
    ck_assert_ptr_nonnull(file);
    fputs("log ", file);
    fflush(file);
    snprintf(name, sizeof name, "/dev/fd/%d", fileno(file));
    ck_assert_int_eq(symlink(name, "second"), 0);
    ck_assert_int_eq(cw_file_write(name, "x", 1, &error), CW_OK);
    ck_assert_int_eq(cw_file_write("second", "y", 1, &error), CW_OK);
    fputs(" end", file);
    fclose(file);
    expect("log xy end");
}
END_TEST

/* A limit on the size of files stands for a full disk. */
START_TEST(without_room_the_old_file_stays) {
    struct cw_error error;
    static char large[100000];
    struct rlimit limit = {4096, 4096};
    ck_assert_int_eq(mkdir("real", 0777), 0);
    ck_assert_int_eq(cw_file_write("real/kept", "old", 3, &error), CW_OK);
    ck_assert_int_eq(chmod("real/kept", 0604), 0);
    ck_assert_int_eq(symlink("real/kept", "page"), 0);
    signal(SIGXFSZ, SIG_IGN);
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &limit), 0);
    static const char *const names[] = {"real/kept", "page"};
    for (size_t i = 0; i < 2; i++) {
        ck_assert_int_eq(cw_file_write(names[i], large, sizeof large, &error), CW_E_WRITE);
        ck_assert_str_eq(error.file, names[i]);
        expect_in("real/kept", "old");
        expect_mode("real/kept", 0604);
    }
    expect_link("page", "real/kept");
    ck_assert_int_eq(cw_file_write("second", large, sizeof large, &error), CW_E_WRITE);
    ck_assert_int_eq(access("second", F_OK), -1);
}
END_TEST

/* In place of the C library's: what is pressed while a file is half written. */
static bool press;
int fsync(int fd) {
    (void)fd;
    if (press) raise(SIGINT);
    return 0;
}

static int files_seen, pages_seen;
static void count_files(int number) {
    (void)number;
    DIR *directory = opendir(".");
    files_seen = pages_seen = 0;
    for (const struct dirent *entry; directory && (entry = readdir(directory));)
        files_seen += strcmp(entry->d_name, ".") && strcmp(entry->d_name, ".."),
            pages_seen += !strcmp(entry->d_name, "page");
    if (directory) closedir(directory);
}

START_TEST(an_interrupt_waits_until_the_file_is_whole) {
    struct cw_error error;
    struct sigaction action = {.sa_handler = count_files}, before;
    ck_assert_int_eq(sigaction(SIGINT, &action, &before), 0);
    press = true;
    ck_assert_int_eq(cw_file_write("page", "new", 3, &error), CW_OK);
    press = false;
    ck_assert_int_eq(pages_seen, 1); /* it came when that was whole */
    ck_assert_int_eq(files_seen, 1);
    expect("new");
    sigaction(SIGINT, &before, NULL);
}
END_TEST

/* Whatever a temporary file could be called is taken by others, up to a point. */
START_TEST(names_that_are_taken_are_passed_over) {
    struct cw_error error;
    char name[64];
    for (int i = 0; i < 5; i++) {
        snprintf(name, sizeof name, ".coastwise-%ld-%d", (long)getpid(), i);
        ck_assert_int_eq(symlink("/nowhere", name), 0);
    }
    ck_assert_int_eq(cw_file_write("page", "new", 3, &error), CW_OK);
    expect("new");
    for (int i = 0; i < 5; i++) {
        snprintf(name, sizeof name, ".coastwise-%ld-%d", (long)getpid(), i);
        expect_link(name, "/nowhere");
        ck_assert_int_eq(unlink(name), 0);
    }
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

START_TEST(a_new_file_takes_the_place_of_none) {
    struct cw_error error;
    ck_assert_int_eq(cw_file_write_new("page", "first", 5, &error), CW_OK);
    expect("first");
    ck_assert_int_eq(cw_file_write_new("page", "second", 6, &error), CW_E_WRITE);
    expect("first");
    ck_assert_int_eq(cw_file_write("page", "", 0, &error), CW_OK);
    ck_assert_int_eq(cw_file_write_new("page", "third", 5, &error), CW_OK); /* it held nothing */
    expect("third");
    ck_assert_int_eq(symlink("page", "second"), 0);
    ck_assert_int_eq(cw_file_write_new("second", "x", 1, &error), CW_E_WRITE);
    expect("third");
    ck_assert_int_eq(unlink("page"), 0); /* the link leads to nothing: that is made */
    ck_assert_int_eq(cw_file_write_new("second", "fourth", 6, &error), CW_OK);
    expect("fourth");
    expect_link("second", "page");
    ck_assert_int_eq(cw_file_write_new("/dev/null", "x", 1, &error), CW_OK);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("base_write");
    TCase *tests = tcase_create("write");
    tcase_add_checked_fixture(tests, make, end);
    tcase_add_test(tests, a_file_appears_and_is_replaced);
    tcase_add_test(tests, a_new_file_takes_the_place_of_none);
    tcase_add_test(tests, a_file_keeps_its_permissions);
    tcase_add_test(tests, links_stay_and_their_file_is_written);
    tcase_add_test(tests, a_link_to_nothing_makes_its_file);
    tcase_add_test(tests, links_in_a_circle_are_refused);
    tcase_add_test(tests, a_stream_is_added_to);
    tcase_add_test(tests, names_that_are_taken_are_passed_over);
    tcase_add_test(tests, an_interrupt_waits_until_the_file_is_whole);
    tcase_add_test(tests, without_room_the_old_file_stays);
    tcase_add_test(tests, devices_and_folders_stay_what_they_are);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
