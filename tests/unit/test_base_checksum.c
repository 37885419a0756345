#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/checksum.h"

/* FIPS 180-4's examples (NIST, "SHA256" example values): one block, two blocks; and the empty
 * message (NIST CAVP, SHA256ShortMsg.rsp, Len = 0). Values computed by two other programs,
 * sha256sum of the GNU coreutils and openssl dgst. */
static const struct {
    const char *message, *hex;
} known[] = {
    {"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
    {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
     "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
    {"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
};

START_TEST(known_messages) {
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        char text[CW_CHECKSUM_HEX];
        cw_checksum_hex(known[i].message, strlen(known[i].message), text);
        ck_assert_str_eq(text, known[i].hex);
    }
}
END_TEST

/* The digest of "abc" above in RFC 4648's base 64, computed by openssl dgst and base64. */
START_TEST(base_64) {
    char text[CW_CHECKSUM_BASE64];
    cw_checksum_base64("abc", 3, text);
    ck_assert_str_eq(text, "ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0=");
}
END_TEST

START_TEST(files) {
    char name[] = "checksum.XXXXXX", text[CW_CHECKSUM_HEX];
    struct cw_error error;
    int fd = mkstemp(name);
    ck_assert_int_ge(fd, 0);
    FILE *file = fdopen(fd, "wb");
    fputs(known[1].message, file);
    fclose(file);
    ck_assert_int_eq(cw_checksum_file(name, text, &error), CW_OK);
    ck_assert_str_eq(text, known[1].hex);
    remove(name);
    ck_assert_int_eq(cw_checksum_file(name, text, &error), CW_E_READ);
    ck_assert_str_eq(error.file, name);
    ck_assert_int_eq(cw_checksum_file("-", text, &error), CW_OK);
    ck_assert_str_eq(text, "");
    ck_assert_int_eq(cw_checksum_file("/dev/null", text, &error), CW_OK);
    ck_assert_str_eq(text, "");
}
END_TEST

int main(void) {
    Suite *suite = suite_create("base_checksum");
    TCase *tests = tcase_create("checksum");
    tcase_add_test(tests, known_messages);
    tcase_add_test(tests, base_64);
    tcase_add_test(tests, files);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
