// SPDX-License-Identifier: MIT
#include "web/server/once.h"

#include "base/memory.h"
#include "support/suite.h"

#include <pthread.h>
#include <stdatomic.h>
#include <string.h>

static DwOnceKey key_of(unsigned number)
{
    DwOnceKey key = {{0}};
    memcpy(key.bytes, &number, sizeof number);
    return key;
}

// Acts number NUMBER with STATUS if it was not answered; whether it was.
static bool act(DwOnce *once, unsigned number, unsigned status, size_t length)
{
    DwOnceKey key = key_of(number);
    DwAnswer answer = {0};
    bool answered = dw_once_begin(once, &key, &answer);
    if (!answered) {
        answer = dw_answer_bytes("text/plain", dw_memory_new(length, 1), length);
        answer.status = status;
        dw_answer_tell(&answer, "Location", "/job/0001");
        dw_once_end(once, &key, &answer);
    }
    ck_assert_uint_eq(answer.status, status);
    ck_assert_uint_eq(answer.length, length);
    ck_assert_str_eq(dw_pairs_find(&answer.headers, "Location"), "/job/0001");
    dw_answer_clear(&answer);
    return answered;
}

START_TEST(a_second_time_is_answered_as_the_first)
{
    DwOnce *once = dw_once_new();
    ck_assert(!act(once, 1, 303, 7));
    ck_assert(act(once, 1, 303, 7));
    ck_assert(!act(once, 2, 303, 9));
    ck_assert(!act(once, 3, 400, 9));
    ck_assert(!act(once, 3, 200, 9)); // what was refused is tried again
    ck_assert(act(once, 3, 200, 9));
    dw_once_free(once);
}
END_TEST

START_TEST(all_that_an_answer_says_comes_again)
{
    DwOnce *once = dw_once_new();
    DwOnceKey key = key_of(1);
    DwAnswer first, again;
    ck_assert(!dw_once_begin(once, &key, &first));
    first = dw_answer_kept("Kept.", "/job/0001");
    first.undo = dw_memory_text("/undo/3/4");
    first.act = dw_memory_text("Undo: changed the note");
    first.revision = 7;
    dw_answer_session(&first, "0123abcd", 60);
    dw_once_end(once, &key, &first);
    dw_answer_clear(&first);
    ck_assert(dw_once_begin(once, &key, &again));
    ck_assert_int_eq(again.kind, DW_ANSWER_KEPT);
    ck_assert_str_eq(again.words, "Kept.");
    ck_assert_str_eq(again.place, "/job/0001");
    ck_assert_str_eq(again.undo, "/undo/3/4");
    ck_assert_str_eq(again.act, "Undo: changed the note");
    ck_assert_int_eq(again.revision, 7);
    ck_assert_str_eq(again.session, "0123abcd");
    ck_assert_uint_eq(again.session_seconds, 60);
    dw_answer_clear(&again);
    dw_once_free(once);
}
END_TEST

START_TEST(the_newest_are_remembered_in_bounded_memory)
{
    DwOnce *once = dw_once_new();
    for (unsigned i = 0; i < 2 * DW_ONCE_ACTS; i++)
        ck_assert(!act(once, i, 200, 1));
    ck_assert(act(once, 2 * DW_ONCE_ACTS - 1, 200, 1));
    ck_assert(act(once, DW_ONCE_ACTS + 1, 200, 1));
    ck_assert(!act(once, 0, 200, 1));
    for (unsigned i = 0; i < 5; i++)
        ck_assert(!act(once, 5000 + i, 200, DW_ONCE_BYTES / 3));
    ck_assert(act(once, 5004, 200, DW_ONCE_BYTES / 3));
    ck_assert(!act(once, 5000, 200, DW_ONCE_BYTES / 3));
    ck_assert(!act(once, 6000, 200, DW_ONCE_BYTES + 1));
    ck_assert(!act(once, 6000, 200, DW_ONCE_BYTES + 1));
    dw_once_free(once);
}
END_TEST

typedef struct {
    DwOnce *once;
    atomic_uint acted;
} Crowd;

static void *tap(void *context)
{
    Crowd *crowd = context;
    for (unsigned i = 0; i < 200; i++)
        if (!act(crowd->once, i, i % 5 ? 200 : 409, 20) && i % 5)
            atomic_fetch_add(&crowd->acted, 1);
    return NULL;
}

START_TEST(of_many_at_the_same_moment_one_acts)
{
    Crowd crowd = {.once = dw_once_new()};
    pthread_t threads[8];
    for (size_t i = 0; i < 8; i++)
        ck_assert_int_eq(pthread_create(&threads[i], NULL, tap, &crowd), 0);
    for (size_t i = 0; i < 8; i++)
        pthread_join(threads[i], NULL);
    ck_assert_uint_eq(crowd.acted, 160);
    dw_once_free(crowd.once);
}
END_TEST

DW_SUITE("once", a_second_time_is_answered_as_the_first, all_that_an_answer_says_comes_again,
         the_newest_are_remembered_in_bounded_memory, of_many_at_the_same_moment_one_acts)
