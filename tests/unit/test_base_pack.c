#include <check.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/pack.h"

struct thing {
    double number, matrix[9], *numbers;
    long whole;
    bool flag;
    size_t size, index, n;
    char *text, *none, chars[8];
};

static void pack_thing(struct cw_pack *pack, struct thing *thing) {
    cw_pack_number(pack, &thing->number);
    cw_pack_long(pack, &thing->whole);
    cw_pack_flag(pack, &thing->flag);
    cw_pack_size(pack, &thing->size, 1000);
    cw_pack_index(pack, &thing->index, 10);
    cw_pack_text(pack, &thing->text);
    cw_pack_text(pack, &thing->none);
    cw_pack_chars(pack, thing->chars, sizeof thing->chars);
    cw_pack_matrix(pack, thing->matrix, 3);
    cw_pack_count(pack, &thing->n);
    cw_pack_numbers(pack, &thing->numbers, thing->n);
}

static double some[] = {0.1, -0.0, 5e-324, NAN, -INFINITY};
static char words[] = "a \"b\" \xff";

static struct thing made(void) {
    return (struct thing){.number = 1.0 / 3,
                          .matrix = {1, 2, 3, 2, 5, 6, 3, 6, 9.000000000000002},
                          .numbers = some,
                          .whole = -48210,
                          .flag = true,
                          .size = 999,
                          .index = SIZE_MAX,
                          .n = sizeof some / sizeof *some,
                          .text = words,
                          .chars = "seven.."};
}

static struct cw_text packed(const struct thing *thing) {
    struct thing copy = *thing;
    struct cw_pack pack = {0};
    struct cw_text word = {0};
    pack_thing(&pack, &copy);
    ck_assert_int_eq(pack.fault, CW_PACK_FINE);
    cw_pack_add(&pack, &word);
    ck_assert(!word.failed);
    cw_pack_free(&pack);
    return word;
}

static void thing_free(struct thing *thing) {
    free(thing->text);
    free(thing->none);
    free(thing->numbers);
}

START_TEST(comes_back_to_the_bit) {
    const struct thing thing = made();
    struct thing back = {0};
    struct cw_text word = packed(&thing);
    struct cw_pack pack;
    ck_assert(cw_pack_open(&pack, word.bytes, word.length));
    pack_thing(&pack, &back);
    ck_assert(cw_pack_ends(&pack));
    ck_assert(!memcmp(&back.number, &thing.number, sizeof back.number));
    ck_assert(!memcmp(back.matrix, thing.matrix, sizeof back.matrix));
    ck_assert_uint_eq(back.n, thing.n);
    ck_assert(!memcmp(back.numbers, some, sizeof some));
    ck_assert_int_eq(back.whole, thing.whole);
    ck_assert(back.flag);
    ck_assert_uint_eq(back.size, 999);
    ck_assert_uint_eq(back.index, SIZE_MAX);
    ck_assert_str_eq(back.text, words);
    ck_assert_ptr_null(back.none);
    ck_assert_str_eq(back.chars, "seven..");
    cw_pack_free(&pack);
    cw_text_free(&word);
    thing_free(&back);
}
END_TEST

/* What one side of a matrix has not from the other is kept; where they are the same, half is. */
START_TEST(a_matrix_keeps_both_its_sides) {
    struct thing thing = made(), back = {0};
    struct cw_text half = packed(&thing);
    thing.matrix[1] += 1e-15;
    struct cw_text whole = packed(&thing);
    struct cw_pack pack;
    ck_assert_uint_eq(whole.length - half.length, 3 * 8 * 4 / 3); /* in base 64 */
    ck_assert(cw_pack_open(&pack, whole.bytes, whole.length));
    pack_thing(&pack, &back);
    ck_assert(!memcmp(back.matrix, thing.matrix, sizeof back.matrix));
    cw_pack_free(&pack);
    cw_text_free(&half);
    cw_text_free(&whole);
    thing_free(&back);
}
END_TEST

START_TEST(a_word_that_was_touched_does_not_open) {
    const struct thing thing = made();
    struct cw_text word = packed(&thing);
    struct cw_pack pack;
    for (size_t i = 0; i < word.length; i++) {
        ck_assert_msg(!cw_pack_open(&pack, word.bytes, i), "cut at %zu", i);
        cw_pack_free(&pack);
        word.bytes[i] ^= 1;
        ck_assert_msg(!cw_pack_open(&pack, word.bytes, word.length), "changed at %zu", i);
        cw_pack_free(&pack);
        word.bytes[i] ^= 1;
    }
    cw_text_free(&word);
}
END_TEST

/* Whatever the bytes are, no more is taken than there is, and what is out of range is refused. */
START_TEST(wrong_bytes_are_refused) {
    const struct thing thing = made();
    struct cw_text word = packed(&thing);
    struct cw_pack whole;
    ck_assert(cw_pack_open(&whole, word.bytes, word.length));
    for (size_t length = 0; length < whole.bytes.length; length++) {
        struct cw_pack pack = {.reads = true, .bytes = whole.bytes};
        struct thing back = {0};
        pack.bytes.length = length;
        pack_thing(&pack, &back);
        ck_assert_int_eq(pack.fault, CW_PACK_WRONG);
        thing_free(&back);
    }
    char flags[] = {2}, sizes[] = {(char)0xe8, 7}, counts[] = {(char)0xff, (char)0xff, 3};
    struct cw_pack pack = {.reads = true, .bytes = {.bytes = flags, .length = 1}};
    bool flag;
    size_t size = 0;
    cw_pack_flag(&pack, &flag);
    ck_assert_int_eq(pack.fault, CW_PACK_WRONG);
    pack = (struct cw_pack){.reads = true, .bytes = {.bytes = sizes, .length = 2}};
    cw_pack_size(&pack, &size, 1000); /* 0x68 + 7 * 128 */
    ck_assert_int_eq(pack.fault, CW_PACK_WRONG);
    pack = (struct cw_pack){.reads = true, .bytes = {.bytes = counts, .length = 3}};
    cw_pack_count(&pack, &size);
    ck_assert_int_eq(pack.fault, CW_PACK_WRONG);
    ck_assert_uint_eq(size, 0);
    cw_pack_free(&whole);
    cw_text_free(&word);
}
END_TEST

int main(void) {
    Suite *suite = suite_create("base/pack");
    TCase *tests = tcase_create("pack");
    tcase_add_test(tests, comes_back_to_the_bit);
    tcase_add_test(tests, a_matrix_keeps_both_its_sides);
    tcase_add_test(tests, a_word_that_was_touched_does_not_open);
    tcase_add_test(tests, wrong_bytes_are_refused);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
