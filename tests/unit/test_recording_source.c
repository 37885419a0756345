#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <zlib.h>

#include "recording/source.h"

#define SIZE 300000

/* Bytes that do not repeat soon, so that the gzip is long enough to cut in many places. */
static void make_bytes(unsigned char *bytes) {
    unsigned x = 12345;
    for (size_t i = 0; i < SIZE; i++) {
        x = x * 1103515245u + 12345u;
        bytes[i] = (unsigned char)(x >> 16);
    }
}

/* Appends a gzip member of bytes[0..length) to packed; returns its length. */
static size_t pack(const unsigned char *bytes, size_t length, unsigned char *packed, size_t room) {
    z_stream stream = {0};
    ck_assert_int_eq(deflateInit2(&stream, 6, Z_DEFLATED, 15 + 16, 8, Z_DEFAULT_STRATEGY), Z_OK);
    stream.next_in = (Bytef *)bytes;
    stream.avail_in = (uInt)length;
    stream.next_out = packed;
    stream.avail_out = (uInt)room;
    ck_assert_int_eq(deflate(&stream, Z_FINISH), Z_STREAM_END);
    size_t written = stream.total_out;
    deflateEnd(&stream);
    return written;
}

/* Reads all of a source in pieces of `piece` bytes; returns the length. */
static size_t read_all(struct cw_source *source, size_t piece, unsigned char *to) {
    size_t total = 0, length;
    char buffer[70000];
    do {
        ck_assert_int_eq(cw_source_read(source, buffer, piece, &length, NULL), CW_OK);
        ck_assert_uint_le(length, piece);
        memcpy(to + total, buffer, length);
        total += length;
    } while (length == piece);
    return total;
}

static unsigned char bytes[SIZE], packed[2 * SIZE], got[2 * SIZE];

static size_t read_memory(const unsigned char *from, size_t length, size_t piece,
                          enum cw_source_fault *fault) {
    struct cw_source *source;
    ck_assert_int_eq(cw_source_open_memory(from, length, "memory", &source, NULL), CW_OK);
    ck_assert_str_eq(cw_source_name(source), "memory");
    size_t total = read_all(source, piece, got);
    *fault = cw_source_fault(source);
    cw_source_close(source);
    return total;
}

START_TEST(plain_bytes_come_as_they_are) {
    static const size_t pieces[] = {1000, 65536, 69999};
    make_bytes(bytes);
    bytes[0] = '<'; /* no gzip */
    enum cw_source_fault fault;
    for (size_t i = 0; i < 3; i++) {
        ck_assert_uint_eq(read_memory(bytes, SIZE, pieces[i], &fault), SIZE);
        ck_assert_int_eq(memcmp(bytes, got, SIZE), 0);
        ck_assert_int_eq(fault, CW_SOURCE_WHOLE);
    }
    ck_assert_uint_eq(read_memory(bytes, 0, 10, &fault), 0);
    ck_assert_uint_eq(read_memory((const unsigned char *)"\x1f", 1, 10, &fault), 1);
}
END_TEST

START_TEST(all_members_of_a_gzip_are_read) {
    make_bytes(bytes);
    size_t half = pack(bytes, SIZE / 2, packed, sizeof packed);
    size_t length = half + pack(bytes + SIZE / 2, SIZE - SIZE / 2, packed + half, SIZE);
    enum cw_source_fault fault;
    ck_assert_uint_eq(read_memory(packed, length, 4096, &fault), SIZE);
    ck_assert_int_eq(memcmp(bytes, got, SIZE), 0);
    ck_assert_int_eq(fault, CW_SOURCE_WHOLE);
}
END_TEST

START_TEST(a_cut_gzip_gives_what_it_holds) {
    make_bytes(bytes);
    size_t length = pack(bytes, SIZE, packed, sizeof packed), before = 0;
    enum cw_source_fault fault;
    for (size_t cut = 2; cut < length; cut += length / 37) {
        size_t total = read_memory(packed, cut, 4096, &fault);
        ck_assert_int_eq(fault, CW_SOURCE_CUT);
        ck_assert_uint_ge(total, before);
        ck_assert_int_eq(memcmp(bytes, got, total), 0);
        before = total;
    }
    ck_assert_uint_gt(before, SIZE / 2);
}
END_TEST

START_TEST(damage_and_trailing_bytes_are_told_apart) {
    make_bytes(bytes);
    size_t length = pack(bytes, SIZE, packed, sizeof packed);
    enum cw_source_fault fault;
    memset(packed + length, 0, 100);
    ck_assert_uint_eq(read_memory(packed, length + 100, 4096, &fault), SIZE);
    ck_assert_int_eq(fault, CW_SOURCE_TRAILING);
    packed[length - 6] ^= 1; /* the checksum */
    ck_assert_uint_eq(read_memory(packed, length, 4096, &fault), SIZE);
    ck_assert_int_eq(fault, CW_SOURCE_DAMAGED);
    memset(packed, 0, 20);
    packed[0] = 0x1f, packed[1] = 0x8b;
    ck_assert_uint_eq(read_memory(packed, length, 4096, &fault), 0);
    ck_assert_int_eq(fault, CW_SOURCE_DAMAGED);
}
END_TEST

START_TEST(files_are_read_and_failures_named) {
    struct cw_source *source;
    struct cw_error error = {0};
    char path[] = "/tmp/cw-source-XXXXXX";
    int file = mkstemp(path);
    ck_assert_int_ge(file, 0);
    make_bytes(bytes);
    size_t length = pack(bytes, SIZE, packed, sizeof packed);
    ck_assert_int_eq(write(file, packed, length), (ssize_t)length);
    close(file);
    ck_assert_int_eq(cw_source_open(path, &source, &error), CW_OK);
    ck_assert_uint_eq(read_all(source, 65536, got), SIZE);
    ck_assert_int_eq(memcmp(bytes, got, SIZE), 0);
    cw_source_close(source);
    unlink(path);

    ck_assert_int_eq(cw_source_open(path, &source, &error), CW_E_READ);
    ck_assert_str_eq(error.file, path);
    ck_assert(strstr(error.message, "No such file"));

    char buffer[10];
    ck_assert_int_eq(cw_source_open("/tmp", &source, &error), CW_OK);
    ck_assert_int_eq(cw_source_read(source, buffer, 10, &length, &error), CW_E_READ);
    ck_assert(strstr(error.message, "is a folder"));
    cw_source_close(source);
    cw_source_close(NULL);
}
END_TEST

START_TEST(what_was_looked_at_stays_to_be_read) {
    struct cw_source *source;
    const char *head;
    size_t length;
    make_bytes(bytes);
    bytes[0] = '<';
    size_t packed_length = pack(bytes, SIZE, packed, sizeof packed);
    for (int gzip = 0; gzip < 2; gzip++) {
        ck_assert_int_eq(cw_source_open_memory(gzip ? packed : bytes, gzip ? packed_length : SIZE,
                                               "memory", &source, NULL),
                         CW_OK);
        for (int i = 0; i < 2; i++) {
            ck_assert_int_eq(cw_source_peek(source, &head, &length, NULL), CW_OK);
            ck_assert_uint_eq(length, CW_SOURCE_PEEK_MAX);
            ck_assert_int_eq(memcmp(head, bytes, length), 0);
        }
        ck_assert_uint_eq(read_all(source, 1000, got), SIZE);
        ck_assert_int_eq(memcmp(bytes, got, SIZE), 0);
        ck_assert_int_eq(cw_source_fault(source), CW_SOURCE_WHOLE);
        cw_source_close(source);
    }
    ck_assert_int_eq(cw_source_open_memory("ab", 2, "memory", &source, NULL), CW_OK);
    ck_assert_int_eq(cw_source_peek(source, &head, &length, NULL), CW_OK);
    ck_assert_uint_eq(length, 2);
    ck_assert_uint_eq(read_all(source, 10, got), 2);
    cw_source_close(source);
}
END_TEST

START_TEST(a_dash_is_standard_input) {
    int ends[2];
    ck_assert_int_eq(pipe(ends), 0);
    ck_assert_int_eq(write(ends[1], "<gpx/>", 6), 6);
    close(ends[1]);
    ck_assert_int_ge(dup2(ends[0], STDIN_FILENO), 0);
    struct cw_source *source;
    ck_assert_int_eq(cw_source_open("-", &source, NULL), CW_OK);
    ck_assert_uint_eq(read_all(source, 100, got), 6);
    ck_assert_int_eq(memcmp(got, "<gpx/>", 6), 0);
    cw_source_close(source);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("recording_source");
    TCase *tests = tcase_create("bytes");
    tcase_add_test(tests, plain_bytes_come_as_they_are);
    tcase_add_test(tests, all_members_of_a_gzip_are_read);
    tcase_add_test(tests, a_cut_gzip_gives_what_it_holds);
    tcase_add_test(tests, damage_and_trailing_bytes_are_told_apart);
    tcase_add_test(tests, files_are_read_and_failures_named);
    tcase_add_test(tests, what_was_looked_at_stays_to_be_read);
    tcase_add_test(tests, a_dash_is_standard_input);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
