/* Text from a format as printf takes it, the same in every locale: numbers have a point and
 * nothing between their digits. All text with numbers in it is made here. */
#ifndef CW_BASE_PRINT_H
#define CW_BASE_PRINT_H

#include <stdarg.h>
#include <stddef.h>

/* Writes at most size bytes to text, the last of them '\0'; size 0 writes nothing. Returns the
 * length that the whole has, without the '\0', or a negative number where it cannot be made. */
int cw_print(char *text, size_t size, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
int cw_print_v(char *text, size_t size, const char *format, va_list arguments)
    __attribute__((format(printf, 3, 0)));

#endif
