#include "base/checksum.h"

#include <errno.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include <nettle/base16.h>
#include <nettle/base64.h>
#include <nettle/sha2.h>

#include "base/reason.h"

static void digest_of(const void *bytes, size_t length, uint8_t digest[SHA256_DIGEST_SIZE]) {
    struct sha256_ctx context;
    sha256_init(&context);
    sha256_update(&context, length, bytes);
    sha256_digest(&context, SHA256_DIGEST_SIZE, digest);
}

static void hex(const uint8_t digest[SHA256_DIGEST_SIZE], char text[CW_CHECKSUM_HEX]) {
    base16_encode_update(text, SHA256_DIGEST_SIZE, digest);
    text[CW_CHECKSUM_HEX - 1] = '\0';
}

void cw_checksum_hex(const void *bytes, size_t length, char text[CW_CHECKSUM_HEX]) {
    uint8_t digest[SHA256_DIGEST_SIZE];
    digest_of(bytes, length, digest);
    hex(digest, text);
}

void cw_checksum_base64(const void *bytes, size_t length, char text[CW_CHECKSUM_BASE64]) {
    uint8_t digest[SHA256_DIGEST_SIZE];
    digest_of(bytes, length, digest);
    base64_encode_raw(text, SHA256_DIGEST_SIZE, digest);
    text[CW_CHECKSUM_BASE64 - 1] = '\0';
}

enum cw_status cw_checksum_file(const char *path, char text[CW_CHECKSUM_HEX],
                                struct cw_error *error) {
    struct stat about;
    text[0] = '\0';
    if (!strcmp(path, "-")) return CW_OK;
    if (stat(path, &about))
        return cw_error_set(error, CW_E_READ, path, 0, "cannot be read: %s", cw_reason_text(errno));
    if (!S_ISREG(about.st_mode)) return CW_OK;
    FILE *file = fopen(path, "rb");
    if (!file)
        return cw_error_set(error, CW_E_READ, path, 0, "cannot be read: %s", cw_reason_text(errno));
    struct sha256_ctx context;
    uint8_t buffer[16384], digest[SHA256_DIGEST_SIZE];
    size_t length;
    sha256_init(&context);
    while ((length = fread(buffer, 1, sizeof buffer, file)) > 0)
        sha256_update(&context, length, buffer);
    enum cw_status status = CW_OK;
    if (ferror(file)) {
        status =
            cw_error_set(error, CW_E_READ, path, 0, "cannot be read: %s", cw_reason_text(errno));
    } else {
        sha256_digest(&context, SHA256_DIGEST_SIZE, digest);
        hex(digest, text);
    }
    fclose(file);
    return status;
}
