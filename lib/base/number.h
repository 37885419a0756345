/* Numbers and times read from text, independent of the locale. */
#ifndef CW_BASE_NUMBER_H
#define CW_BASE_NUMBER_H

#include <stdbool.h>
#include <stddef.h>

/* Reads all of text[0..length) as one finite decimal number with a point (blank space around it
 * is allowed; exponents too). Returns false, *value untouched, for anything else: empty, nan,
 * inf, hexadecimal, trailing text. */
bool cw_number_read(const char *text, size_t length, double *value);

/* As cw_number_read for a whole number within long. */
bool cw_integer_read(const char *text, size_t length, long *value);

/* Reads an ISO 8601 date and time: YYYY-MM-DDThh:mm[:ss[.fraction]][Z|+hh[:mm]|+hhmm]. Without
 * a zone UTC is taken. A day that the calendar does not have, such as 31 April, is refused.
 * *unix_s: seconds since 1970-01-01T00:00:00Z. */
bool cw_time_read(const char *text, size_t length, double *unix_s);
/* The same, but a time without a zone is that of a clock which is offset_s ahead of UTC. */
bool cw_time_read_local(const char *text, size_t length, double offset_s, double *unix_s);

/* The offset from UTC that such a time says as +01:00; 0 where it says none, or Z. */
double cw_time_offset_s(const char *text, size_t length);

/* Reads a local time's offset from UTC, "Z" or as "+01:00", all of the text; false if it is not
 * one. */
bool cw_offset_read(const char *text, size_t length, double *offset_s);

/* Writes unix_s as YYYY-MM-DDThh:mm:ss.sssZ (milliseconds only where they are not zero). */
void cw_time_write(double unix_s, char *text, size_t size);

#endif
