// SPDX-License-Identifier: MIT
#include "web/access.h"

#include "base/memory.h"

#include <sodium.h>
#include <stdlib.h>
#include <string.h>

struct DwAccess {
    unsigned char key[crypto_generichash_KEYBYTES];
};

DwStatus dw_access_new(DwAccess **access, DwMessage *message)
{
    if (sodium_init() < 0)
        return dw_fail(message, DW_FAILED,
                       "The system gives no random numbers; without them no device can be told apart.");
    DwAccess *made = dw_memory_new(1, sizeof *made);
    crypto_generichash_keygen(made->key);
    *access = made;
    return DW_OK;
}

void dw_access_free(DwAccess *access)
{
    if (!access)
        return;
    sodium_memzero(access->key, sizeof access->key);
    free(access);
}

void dw_access_token(char token[65])
{
    unsigned char bytes[32];
    randombytes_buf(bytes, sizeof bytes);
    sodium_bin2hex(token, 65, bytes, sizeof bytes);
}

void dw_access_seal(const DwAccess *access, const char *token, char seal[65])
{
    unsigned char bytes[32];
    crypto_generichash(bytes, sizeof bytes, (const unsigned char *)token, strlen(token), access->key,
                       sizeof access->key);
    sodium_bin2hex(seal, 65, bytes, sizeof bytes);
}

bool dw_access_sealed(const DwAccess *access, const char *token, const char *given)
{
    char seal[65];
    dw_access_seal(access, token, seal);
    return strlen(given) == 64 && sodium_memcmp(seal, given, 64) == 0;
}
