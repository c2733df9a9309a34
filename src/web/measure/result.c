// SPDX-License-Identifier: MIT
#include "web/measure/result.h"

#include "base/memory.h"
#include "web/server/access.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { RESULTS = 32 };
static const time_t longest_s = 12 * 3600;

typedef struct {
    DwResult result;
    time_t made;
    unsigned users; // pages that are being written from it
    bool filled;
    bool claimed; // kept in the book, or just being kept
} Place;

struct DwResults {
    pthread_mutex_t lock;
    Place places[RESULTS];
};

static void empty(Place *place)
{
    dw_inputs_free(place->result.inputs);
    dw_sheet_free(place->result.sheet);
    *place = (Place){0};
}

DwResults *dw_results_new(void)
{
    DwResults *results = dw_memory_new(1, sizeof *results);
    pthread_mutex_init(&results->lock, NULL);
    return results;
}

void dw_results_free(DwResults *results)
{
    if (!results)
        return;
    for (size_t i = 0; i < RESULTS; i++)
        empty(&results->places[i]);
    pthread_mutex_destroy(&results->lock);
    free(results);
}

// A free place, else the oldest that nobody is using; NULL when all are in use.
static Place *make_room(DwResults *results)
{
    Place *oldest = NULL;
    for (size_t i = 0; i < RESULTS; i++) {
        Place *place = &results->places[i];
        if (place->filled && !place->users && time(NULL) - place->made > longest_s)
            empty(place);
        if (!place->filled)
            return place;
        if (!place->users && (!oldest || place->made < oldest->made))
            oldest = place;
    }
    if (oldest)
        empty(oldest);
    return oldest;
}

void dw_results_add(DwResults *results, DwResult result, char key[65])
{
    dw_access_token(result.key);
    memcpy(key, result.key, sizeof result.key);
    pthread_mutex_lock(&results->lock);
    Place *place = make_room(results);
    if (place)
        *place = (Place){.result = result, .made = time(NULL), .filled = true};
    pthread_mutex_unlock(&results->lock);
    if (!place) { // thirty-two pages at once: it is measured again
        dw_inputs_free(result.inputs);
        dw_sheet_free(result.sheet);
    }
}

const DwResult *dw_results_take(DwResults *results, const char *token, const char *key)
{
    const DwResult *found = NULL;
    pthread_mutex_lock(&results->lock);
    for (size_t i = 0; i < RESULTS && !found; i++) {
        Place *place = &results->places[i];
        if (!place->filled || strcmp(place->result.key, key) != 0 || strcmp(place->result.token, token) != 0)
            continue;
        place->users++;
        found = &place->result;
    }
    pthread_mutex_unlock(&results->lock);
    return found;
}

// The place that RESULT stands in, which somebody is using; the lock is held.
static Place *place_of(DwResults *results, const DwResult *result)
{
    size_t i = 0;
    while (&results->places[i].result != result)
        i++;
    return &results->places[i];
}

bool dw_results_claim(DwResults *results, const DwResult *result)
{
    pthread_mutex_lock(&results->lock);
    Place *place = place_of(results, result);
    bool claimed = !place->claimed;
    place->claimed = true;
    pthread_mutex_unlock(&results->lock);
    return claimed;
}

void dw_results_unclaim(DwResults *results, const DwResult *result)
{
    pthread_mutex_lock(&results->lock);
    place_of(results, result)->claimed = false;
    pthread_mutex_unlock(&results->lock);
}

void dw_results_give_back(DwResults *results, const DwResult *result)
{
    if (!result)
        return;
    pthread_mutex_lock(&results->lock);
    place_of(results, result)->users--;
    pthread_mutex_unlock(&results->lock);
}
