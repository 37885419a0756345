#include "picture/labels.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"

/* The bytes of the character at c, which is well-formed UTF-8, and its number. */
static size_t character_at(const char *c, unsigned *character) {
    unsigned first = (unsigned char)*c;
    size_t length = first < 0x80 ? 1 : first < 0xe0 ? 2 : first < 0xf0 ? 3 : 4;
    *character = length == 1 ? first : first & (0x7fU >> length);
    for (size_t i = 1; i < length; i++)
        *character = *character << 6 | ((unsigned char)c[i] & 0x3fU);
    return length;
}

/* In ems. */
static double advance(const char *c, size_t length, unsigned character) {
    if (character < 0x80) {
        if (strchr("iljI.,:;'|! ()[]ft", (int)character)) return 0.40;
        if (strchr("mwMW@%", (int)character)) return 1.0;
        return character >= 'A' && character <= 'Z' ? 0.72 : 0.62;
    }
    char one[8] = {0};
    memcpy(one, c, length);
    size_t columns = cw_utf8_width(one);
    return columns == 0 ? 0 : columns == 2 ? 1.02 : 0.75;
}

double cw_label_width(const char *text, double font) {
    double width = 0;
    for (size_t left = strlen(text); left;) {
        unsigned character;
        size_t length = cw_utf8_next(text, left, &character);
        width +=
            font * (length ? advance(text, length, character) : advance("\xef\xbf\xbd", 3, 0xfffd));
        text += length ? length : 1;
        left -= length ? length : 1;
    }
    return width;
}

static bool dropped(unsigned c) {
    return c < 0x20 || (c >= 0x7f && c < 0xa0) || c == 0xfffe || c == 0xffff || c == 0xfeff ||
           (c >= 0x202a && c <= 0x202e) || (c >= 0x2066 && c <= 0x2069); /* direction overrides */
}

static void clean(struct cw_text *text, const char *name) {
    struct cw_text whole = {0};
    cw_utf8_add_repaired(&whole, name);
    if (whole.failed) text->failed = true;
    for (const char *c = whole.bytes; c && *c;) {
        unsigned character;
        size_t length = character_at(c, &character);
        if (character == '\t' || character == '\n' || character == '\r')
            cw_text_add(text, " ");
        else if (!dropped(character))
            cw_text_add_bytes(text, c, length);
        c += length;
    }
    cw_text_free(&whole);
}

void cw_label_shorten(struct cw_text *text, const char *name, double width, double font) {
    static const char ellipsis[] = "\xe2\x80\xa6";
    if (!name) return;
    struct cw_text whole = {0};
    clean(&whole, name);
    if (whole.failed) text->failed = true;
    if (whole.bytes && cw_label_width(whole.bytes, font) <= width) {
        cw_text_add_bytes(text, whole.bytes, whole.length);
    } else if (whole.bytes) {
        double left = width - font; /* the ellipsis is an em wide at most */
        size_t fits = 0;
        for (const char *c = whole.bytes; *c;) {
            unsigned character;
            size_t length = character_at(c, &character);
            left -= font * advance(c, length, character);
            if (left < 0) break;
            c += length;
            fits = (size_t)(c - whole.bytes);
        }
        while (fits && whole.bytes[fits - 1] == ' ') fits--;
        cw_text_add_bytes(text, whole.bytes, fits);
        cw_text_add(text, "%s", ellipsis);
    }
    cw_text_free(&whole);
}

/* A group of labels that touch: its first member's middle wants to be at sum/n. */
struct cluster {
    size_t first, n;
    double sum;
};

static double settled(const struct cluster *c, double height, double low, double high) {
    double place = c->sum / (double)c->n;
    double last = high - height * ((double)c->n - 0.5);
    return fmax(low + 0.5 * height, fmin(last, place));
}

/* Clusters that overlap are joined until none does (pool adjacent violators: Barlow et al.,
 * Statistical Inference under Order Restrictions, 1972, sec. 1.2). */
static void stack_sorted(size_t n, const double *wanted, const size_t *order, double height,
                         double low, double high, struct cluster *clusters, double *place) {
    size_t m = 0;
    for (size_t i = 0; i < n; i++) {
        struct cluster next = {i, 1, wanted[order[i]]};
        while (m) {
            struct cluster *before = &clusters[m - 1];
            double end = settled(before, height, low, high) + height * (double)before->n;
            if (end <= settled(&next, height, low, high)) break;
            next.sum = before->sum + next.sum - height * (double)(before->n * next.n);
            next.n += before->n;
            next.first = before->first;
            m--;
        }
        clusters[m++] = next;
    }
    for (size_t c = 0; c < m; c++)
        for (size_t i = 0; i < clusters[c].n; i++)
            place[order[clusters[c].first + i]] =
                settled(&clusters[c], height, low, high) + height * (double)i;
}

enum cw_status cw_labels_stack(size_t n, const double *wanted, double height, double low,
                               double high, double *place, struct cw_error *error) {
    size_t *order = malloc((n + 1) * sizeof *order);
    struct cluster *clusters = malloc((n + 1) * sizeof *clusters);
    enum cw_status status = order && clusters ? CW_OK : cw_error_memory(error);
    if (status < 0) goto cleanup;
    double fit = floor((high - low) / height + 1e-9);
    size_t room = fit > 0 ? fit < 1e6 ? (size_t)fit : 1000000 : 0, m = 0;
    for (size_t i = 0; i < n; i++) {
        place[i] = NAN;
        if (m == room || !isfinite(wanted[i])) continue;
        size_t k = m++; /* insertion: labels are few */
        while (k > 0 && wanted[order[k - 1]] > wanted[i]) {
            order[k] = order[k - 1];
            k--;
        }
        order[k] = i;
    }
    stack_sorted(m, wanted, order, height, low, high, clusters, place);
cleanup:
    free(order);
    free(clusters);
    return status;
}

void cw_labels_take(struct cw_labels *labels, const struct cw_box *box) {
    if (labels->n < CW_LABELS_MOST) labels->taken[labels->n++] = *box;
}

static bool is_free(const struct cw_labels *labels, const struct cw_box *box) {
    const struct cw_box *w = &labels->within;
    if (box->left < w->left || box->right > w->right || box->top < w->top ||
        box->bottom > w->bottom)
        return false;
    for (size_t i = 0; i < labels->n; i++) {
        const struct cw_box *t = &labels->taken[i];
        if (box->left < t->right && t->left < box->right && box->top < t->bottom &&
            t->top < box->bottom)
            return false;
    }
    return true;
}

bool cw_labels_place(struct cw_labels *labels, double x, double y, double width, double height,
                     double gap, struct cw_box *box) {
    /* Beside, over and under; over and under with an end at the point; at the corners. */
    static const double side[12][2] = {{1, 0},    {-1, 0},  {0, -1}, {0, 1}, {-0.9, -1}, {0.9, -1},
                                       {-0.9, 1}, {0.9, 1}, {1, -1}, {1, 1}, {-1, -1},   {-1, 1}};
    if (labels->n == CW_LABELS_MOST) return false;
    for (int ring = 0; ring < 8; ring++)
        for (int k = 0; k < 12; k++) {
            double away = gap + ring * 0.75 * height;
            double aside = fabs(side[k][0]) < 1 ? 0 : away; /* over and under need none */
            double cx = x + side[k][0] * (aside + 0.5 * width);
            double cy = y + side[k][1] * (away + 0.5 * height);
            *box = (struct cw_box){cx - 0.5 * width, cy - 0.5 * height, cx + 0.5 * width,
                                   cy + 0.5 * height};
            if (!is_free(labels, box)) continue;
            cw_labels_take(labels, box);
            return true;
        }
    return false;
}
