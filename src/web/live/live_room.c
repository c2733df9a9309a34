// SPDX-License-Identifier: MIT
#include "web/live/live_room.h"

#include "base/memory.h"
#include "procedure/live/live_clock.h"
#include "procedure/live/live_json.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// Devices that look at the same frame ask for the same rows: few texts serve them all.
enum { TEXTS = 8 };
// A text is of now for two frames; older ones would show as running what has ceased.
static const double fresh_s = 0.1;

typedef struct {
    char *json;
    uint64_t seq, row;
    double made_s;
} Text;

struct DwLiveRoom {
    DwLiveSession *session;
    pthread_mutex_t lock; // for all below
    char label[256];
    DwInputs *inputs; // what the present input was started with
    Text texts[TEXTS];
    size_t next; // the text to give way
};

DwLiveRoom *dw_live_room_new(void)
{
    DwLiveRoom *room = dw_memory_new(1, sizeof *room);
    room->session = dw_live_session_new();
    room->inputs = dw_inputs_new();
    pthread_mutex_init(&room->lock, NULL);
    return room;
}

void dw_live_room_free(DwLiveRoom *room)
{
    if (!room)
        return;
    dw_live_session_free(room->session);
    for (size_t i = 0; i < TEXTS; i++)
        free(room->texts[i].json);
    dw_inputs_free(room->inputs);
    pthread_mutex_destroy(&room->lock);
    free(room);
}

DwLiveSession *dw_live_room_session(DwLiveRoom *room)
{
    return room->session;
}

DwStatus dw_live_room_start(DwLiveRoom *room, const DwLiveRoomStart *start, DwInputs *inputs, DwMessage *message)
{
    enum { KEEP_S = 1200 }; // longer than the bands of any one measurement
    DwLiveStart wanted = {.input = start->input, .inputs = inputs, .folder = start->folder, .keep_s = KEEP_S};
    DwStatus status = dw_live_session_start(room->session, &wanted, message);
    pthread_mutex_lock(&room->lock);
    if (status == DW_OK) {
        DwInputs *old = room->inputs;
        room->inputs = inputs;
        inputs = old;
        snprintf(room->label, sizeof room->label, "%s", start->label);
    }
    pthread_mutex_unlock(&room->lock);
    dw_inputs_free(inputs);
    return status;
}

void dw_live_room_add_inputs(DwLiveRoom *room, const DwProcedure *procedure, DwInputs *inputs)
{
    dw_inputs_begin_source(inputs);
    pthread_mutex_lock(&room->lock);
    for (size_t i = 0; procedure->quantities[i]; i++) {
        const char *key = procedure->quantities[i], *typed = dw_inputs_typed(room->inputs, key);
        if (typed && !dw_quantity_find(key)->repeats)
            dw_inputs_set(inputs, key, typed, NULL); // it was accepted before
    }
    pthread_mutex_unlock(&room->lock);
}

DwLiveSnapshot *dw_live_room_look(DwLiveRoom *room)
{
    DwLiveSnapshot *snapshot = dw_memory_new(1, sizeof *snapshot);
    dw_live_session_wait(room->session, 0, 0, snapshot);
    pthread_mutex_lock(&room->lock);
    if (*snapshot->input)
        snprintf(snapshot->input, sizeof snapshot->input, "%s", room->label);
    pthread_mutex_unlock(&room->lock);
    return snapshot;
}

// The text of (SEQ, ROW) that another device was given just now, or NULL. The caller frees it.
static char *find_text(DwLiveRoom *room, uint64_t seq, uint64_t row)
{
    char *found = NULL;
    pthread_mutex_lock(&room->lock);
    for (size_t i = 0; i < TEXTS && !found; i++) {
        const Text *text = &room->texts[i];
        if (text->json && text->seq == seq && text->row == row && dw_live_clock_now() - text->made_s < fresh_s)
            found = dw_memory_text(text->json);
    }
    pthread_mutex_unlock(&room->lock);
    return found;
}

static void note_text(DwLiveRoom *room, const char *json, uint64_t seq, uint64_t row)
{
    pthread_mutex_lock(&room->lock);
    Text *text = &room->texts[room->next++ % TEXTS];
    free(text->json);
    *text = (Text){dw_memory_text(json), seq, row, dw_live_clock_now()};
    pthread_mutex_unlock(&room->lock);
}

DwLiveRoomAnswer dw_live_room_ask(DwLiveRoom *room, uint64_t after_seq, uint64_t row, int timeout_ms)
{
    DwLiveRoomAnswer answer = {0};
    double asked_s = dw_live_clock_now();
    uint64_t seq = dw_live_session_await(room->session, after_seq, timeout_ms, &answer.since_s);
    answer.held_s = dw_live_clock_now() - asked_s;
    answer.json = find_text(room, seq, row);
    if (answer.json)
        return answer;
    DwLiveSnapshot *snapshot = dw_live_room_look(room);
    answer.since_s = snapshot->since_samples_s;
    answer.json = dw_live_snapshot_json(snapshot, row);
    note_text(room, answer.json, snapshot->seq, row);
    free(snapshot);
    return answer;
}
