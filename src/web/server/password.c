// SPDX-License-Identifier: MIT
#include "web/server/password.h"

#include "base/text.h"
#include "book/shop/settings.h"

#include <pthread.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>

DwStatus dw_password_set(DwBook *book, const char *password, DwMessage *message)
{
    if (dw_text_columns(password) < DW_PASSWORD_LEAST || strlen(password) > DW_PASSWORD_MOST)
        return dw_fail(message, DW_BAD_INPUT,
                       "A password has %d characters or more, %d bytes at most. A few words in a row are easy to keep "
                       "in mind.",
                       DW_PASSWORD_LEAST, DW_PASSWORD_MOST);
    char hash[crypto_pwhash_STRBYTES];
    if (sodium_init() < 0 ||
        crypto_pwhash_str_alg(hash, password, strlen(password), crypto_pwhash_OPSLIMIT_INTERACTIVE,
                              crypto_pwhash_MEMLIMIT_INTERACTIVE, crypto_pwhash_ALG_ARGON2ID13) != 0)
        return dw_fail(message, DW_FAILED, "The password could not be kept: 64 MB of memory are needed to hash it.");
    return dw_settings_set_password_hash(book, hash, message);
}

bool dw_password_is_set(DwBook *book)
{
    char *hash = dw_settings_password_hash(book);
    bool set = *hash != '\0';
    free(hash);
    return set;
}

bool dw_password_matches(DwBook *book, const char *password)
{
    static pthread_mutex_t one_at_a_time = PTHREAD_MUTEX_INITIALIZER;
    char *hash = dw_settings_password_hash(book);
    size_t length = strlen(password);
    bool right = false;
    if (*hash && length <= DW_PASSWORD_MOST && sodium_init() >= 0) {
        pthread_mutex_lock(&one_at_a_time);
        right = crypto_pwhash_str_verify(hash, password, length) == 0;
        pthread_mutex_unlock(&one_at_a_time);
    }
    free(hash);
    return right;
}
