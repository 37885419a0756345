/* SHA-256 checksums (FIPS 180-4). */
#ifndef CW_BASE_CHECKSUM_H
#define CW_BASE_CHECKSUM_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/public.h"

CW_PUBLIC_BEGIN

#define CW_CHECKSUM_HEX 65    /* 64 digits and '\0' */
#define CW_CHECKSUM_BASE64 45 /* 44 characters and '\0' */

/* Of bytes[0..length): in hexadecimal, as checksum programs print it; and in base 64 (RFC 4648),
 * as a Content-Security-Policy has it. */
void cw_checksum_hex(const void *bytes, size_t length, char text[CW_CHECKSUM_HEX]);
void cw_checksum_base64(const void *bytes, size_t length, char text[CW_CHECKSUM_BASE64]);

/* Of the file at path as it lies on disk (compressed, if it is). What is no regular file (standard
 * input "-", a pipe) cannot be read twice: text is then "" and that is no error. CW_E_READ. */
enum cw_status cw_checksum_file(const char *path, char text[CW_CHECKSUM_HEX],
                                struct cw_error *error);

CW_PUBLIC_END

#endif
