// SPDX-License-Identifier: MIT
#include "web/server/once.h"

#include "base/memory.h"

#include <pthread.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

typedef enum { FREE, BEGUN, ANSWERED } State;

typedef struct {
    State state;
    DwOnceKey key;
    uint64_t at; // counts up
    DwAnswer answer;
} Act;

struct DwOnce {
    pthread_mutex_t lock; // of all below
    pthread_cond_t ended;
    Act acts[DW_ONCE_ACTS];
    size_t bytes; // of the answers
    uint64_t count;
};

DwOnce *dw_once_new(void)
{
    DwOnce *once = dw_memory_new(1, sizeof *once);
    pthread_mutex_init(&once->lock, NULL);
    pthread_cond_init(&once->ended, NULL);
    return once;
}

static void forget(DwOnce *once, Act *act)
{
    once->bytes -= act->answer.length;
    dw_answer_clear(&act->answer);
    act->state = FREE;
}

void dw_once_free(DwOnce *once)
{
    if (!once)
        return;
    for (size_t i = 0; i < DW_ONCE_ACTS; i++)
        forget(once, &once->acts[i]);
    pthread_cond_destroy(&once->ended);
    pthread_mutex_destroy(&once->lock);
    free(once);
}

static Act *find(DwOnce *once, const DwOnceKey *key)
{
    for (size_t i = 0; i < DW_ONCE_ACTS; i++)
        if (once->acts[i].state != FREE && memcmp(once->acts[i].key.bytes, key->bytes, DW_ONCE_KEY) == 0)
            return &once->acts[i];
    return NULL;
}

static Act *oldest_answered(DwOnce *once)
{
    Act *oldest = NULL;
    for (size_t i = 0; i < DW_ONCE_ACTS; i++)
        if (once->acts[i].state == ANSWERED && (!oldest || once->acts[i].at < oldest->at))
            oldest = &once->acts[i];
    return oldest;
}

// A free place, that of the oldest answer if need be; NULL when all are being answered.
static Act *free_place(DwOnce *once)
{
    for (size_t i = 0; i < DW_ONCE_ACTS; i++)
        if (once->acts[i].state == FREE)
            return &once->acts[i];
    Act *oldest = oldest_answered(once);
    if (oldest)
        forget(once, oldest);
    return oldest;
}

bool dw_once_begin(DwOnce *once, const DwOnceKey *key, DwAnswer *answer)
{
    pthread_mutex_lock(&once->lock);
    Act *act;
    while ((act = find(once, key)) && act->state == BEGUN)
        pthread_cond_wait(&once->ended, &once->lock);
    bool answered = act != NULL;
    if (answered)
        *answer = dw_answer_copy(&act->answer);
    else {
        act = free_place(once);
        if (act)
            *act = (Act){.state = BEGUN, .key = *key, .at = once->count++};
    }
    pthread_mutex_unlock(&once->lock);
    return answered;
}

void dw_once_end(DwOnce *once, const DwOnceKey *key, const DwAnswer *answer)
{
    pthread_mutex_lock(&once->lock);
    Act *act = find(once, key);
    if (act && answer->status < 400 && answer->length <= DW_ONCE_BYTES) {
        act->state = ANSWERED;
        act->answer = dw_answer_copy(answer);
        once->bytes += answer->length;
        while (once->bytes > DW_ONCE_BYTES)
            forget(once, oldest_answered(once));
    } else if (act)
        forget(once, act);
    pthread_cond_broadcast(&once->ended);
    pthread_mutex_unlock(&once->lock);
}
