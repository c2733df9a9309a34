// SPDX-License-Identifier: MIT
#include "web/server/access.h"

#include "base/memory.h"
#include "web/server/limit.h"
#include "web/server/password.h"

#include <pthread.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

typedef struct {
    char code[DW_ACCESS_CODE_SIZE]; // "": the slot is free
    char target[DW_ACCESS_TARGET];
    int64_t until;
} Pairing;

enum { LOCKS = 64 };

struct DwAccess {
    unsigned char key[crypto_generichash_KEYBYTES];
    pthread_mutex_t lock; // of what follows
    Pairing pairings[DW_ACCESS_CODES];
    DwTryLimit limit;
    struct {
        char token[65]; // "" for a free place
        char address[DW_ACCESS_TARGET];
    } locked[LOCKS];
};

DwStatus dw_access_new(DwAccess **access, DwMessage *message)
{
    if (sodium_init() < 0)
        return dw_fail(message, DW_FAILED,
                       "The system gives no random numbers; without them no device can be told apart.");
    DwAccess *made = dw_memory_new(1, sizeof *made);
    crypto_generichash_keygen(made->key);
    pthread_mutex_init(&made->lock, NULL);
    *access = made;
    return DW_OK;
}

void dw_access_free(DwAccess *access)
{
    if (!access)
        return;
    pthread_mutex_destroy(&access->lock);
    sodium_memzero(access, sizeof *access);
    free(access);
}

// A clock that is never set back.
static int64_t seconds_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_BOOTTIME, &now);
    return now.tv_sec;
}

static void draw_word(char *word, size_t bytes)
{
    unsigned char drawn[32];
    randombytes_buf(drawn, bytes);
    sodium_bin2hex(word, 2 * bytes + 1, drawn, bytes);
    sodium_memzero(drawn, sizeof drawn);
}

void dw_access_token(char token[65])
{
    draw_word(token, 32);
}

static void hash_with(const unsigned char *key, size_t key_length, const char *token, char hash[65])
{
    unsigned char bytes[32];
    crypto_generichash(bytes, sizeof bytes, (const unsigned char *)token, strlen(token), key, key_length);
    sodium_bin2hex(hash, 65, bytes, sizeof bytes);
}

void dw_access_hash(const char *token, char hash[65])
{
    hash_with(NULL, 0, token, hash);
}

void dw_access_form_token(const DwAccess *access, const char *token, char form_token[65])
{
    hash_with(access->key, sizeof access->key, token, form_token);
}

bool dw_access_fits_form(const DwAccess *access, const char *token, const char *given)
{
    char form_token[65];
    dw_access_form_token(access, token, form_token);
    return strlen(given) == 64 && sodium_memcmp(form_token, given, 64) == 0;
}

void dw_access_code_new(DwAccess *access, const char *target, char code[DW_ACCESS_CODE_SIZE])
{
    draw_word(code, (DW_ACCESS_CODE_SIZE - 1) / 2);
    pthread_mutex_lock(&access->lock);
    Pairing *oldest = &access->pairings[0];
    for (size_t i = 1; i < DW_ACCESS_CODES; i++)
        if (access->pairings[i].until < oldest->until)
            oldest = &access->pairings[i];
    *oldest = (Pairing){.until = seconds_now() + DW_ACCESS_CODE_SECONDS};
    snprintf(oldest->code, sizeof oldest->code, "%s", code);
    snprintf(oldest->target, sizeof oldest->target, "%s", target);
    pthread_mutex_unlock(&access->lock);
}

static bool look_up(DwAccess *access, const char *code, char target[DW_ACCESS_TARGET], bool use)
{
    bool holds = false;
    pthread_mutex_lock(&access->lock);
    for (size_t i = 0; strlen(code) == DW_ACCESS_CODE_SIZE - 1 && i < DW_ACCESS_CODES; i++) {
        Pairing *pairing = &access->pairings[i];
        if (!*pairing->code || sodium_memcmp(pairing->code, code, DW_ACCESS_CODE_SIZE - 1) != 0)
            continue;
        holds = pairing->until > seconds_now();
        memcpy(target, pairing->target, sizeof pairing->target);
        if (use)
            *pairing = (Pairing){0};
    }
    pthread_mutex_unlock(&access->lock);
    return holds;
}

bool dw_access_code_holds(DwAccess *access, const char *code, char target[DW_ACCESS_TARGET])
{
    return look_up(access, code, target, false);
}

bool dw_access_code_use(DwAccess *access, const char *code, char target[DW_ACCESS_TARGET])
{
    return look_up(access, code, target, true);
}

unsigned dw_access_try(DwAccess *access, DwBook *book, uint64_t who, const char *password, bool *right)
{
    pthread_mutex_lock(&access->lock);
    unsigned wait = dw_limit_try(&access->limit, who, seconds_now());
    pthread_mutex_unlock(&access->lock);
    *right = wait == 0 && dw_password_matches(book, password);
    if (*right) {
        pthread_mutex_lock(&access->lock);
        dw_limit_pardon(&access->limit, who);
        pthread_mutex_unlock(&access->lock);
    }
    return wait;
}

// The place of TOKEN among the locked, or of a free one for ""; -1 for none. Under the lock.
static int find_locked(const DwAccess *access, const char *token)
{
    for (int i = 0; i < LOCKS; i++)
        if (strcmp(access->locked[i].token, token) == 0)
            return i;
    return -1;
}

bool dw_access_lock(DwAccess *access, const char *token, const char *address)
{
    if (strlen(address) >= DW_ACCESS_TARGET || !*token)
        return false;
    pthread_mutex_lock(&access->lock);
    int place = find_locked(access, token);
    place = place < 0 ? find_locked(access, "") : place;
    if (place >= 0) {
        snprintf(access->locked[place].token, sizeof access->locked[place].token, "%s", token);
        snprintf(access->locked[place].address, sizeof access->locked[place].address, "%s", address);
    }
    pthread_mutex_unlock(&access->lock);
    return place >= 0;
}

void dw_access_unlock(DwAccess *access, const char *token)
{
    pthread_mutex_lock(&access->lock);
    int place = *token ? find_locked(access, token) : -1;
    if (place >= 0)
        access->locked[place].token[0] = '\0';
    pthread_mutex_unlock(&access->lock);
}

bool dw_access_locked(DwAccess *access, const char *token, char address[DW_ACCESS_TARGET])
{
    pthread_mutex_lock(&access->lock);
    int place = *token ? find_locked(access, token) : -1;
    if (place >= 0)
        memcpy(address, access->locked[place].address, DW_ACCESS_TARGET);
    pthread_mutex_unlock(&access->lock);
    return place >= 0;
}
