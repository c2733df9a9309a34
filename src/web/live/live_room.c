// SPDX-License-Identifier: MIT
#include "web/live/live_room.h"

#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "procedure/live/live_clock.h"
#include "procedure/live/live_inputs.h"
#include "procedure/live/live_json.h"
#include "web/server/words.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

// Devices that look at the same frame ask for the same rows: few texts serve them all.
enum { TEXTS = 8 };
// What is heard lies on disk under these names until it is dropped.
static const char *const take_names[DW_LIVE_PLACES] = {"heard-1", "heard-2"};
// A text is of now for two frames; older ones would show as running what has ceased.
static const double fresh_s = 0.1;

typedef struct {
    char *json;
    uint64_t seq, row;
    double made_s;
} Text;

typedef struct {
    DwLiveSession *session;
    pthread_mutex_t lock; // for all below
    char label[256], input[320];
    DwInputs *inputs; // what the present input was started with
    Text texts[TEXTS];
    size_t next; // the text to give way
} Place;

struct DwLiveRoom {
    Place places[DW_LIVE_PLACES];
    DwLiveInputs *listed;
    pthread_mutex_t starting; // one start at a time
};

DwLiveRoom *dw_live_room_new(void)
{
    DwLiveRoom *room = dw_memory_new(1, sizeof *room);
    room->listed = dw_live_inputs_new();
    pthread_mutex_init(&room->starting, NULL);
    for (unsigned i = 0; i < DW_LIVE_PLACES; i++) {
        Place *place = &room->places[i];
        place->session = dw_live_session_new();
        place->inputs = dw_inputs_new();
        pthread_mutex_init(&place->lock, NULL);
    }
    return room;
}

static void clear_place(Place *place)
{
    dw_live_session_free(place->session);
    for (size_t i = 0; i < TEXTS; i++)
        free(place->texts[i].json);
    dw_inputs_free(place->inputs);
    pthread_mutex_destroy(&place->lock);
}

void dw_live_room_free(DwLiveRoom *room)
{
    if (!room)
        return;
    for (unsigned i = 0; i < DW_LIVE_PLACES; i++)
        clear_place(&room->places[i]);
    dw_live_inputs_free(room->listed);
    pthread_mutex_destroy(&room->starting);
    free(room);
}

char *dw_live_room_folder(const char *book)
{
    char *folder = dw_text_format("%s/heard", book);
    mkdir(folder, 0700); // where it cannot be made, the take says why
    return folder;
}

void dw_live_room_recall(DwLiveRoom *room, const char *folder)
{
    pthread_mutex_lock(&room->starting);
    for (unsigned i = 0; i < DW_LIVE_PLACES; i++) {
        Place *place = &room->places[i];
        DwInputs *inputs = dw_inputs_new();
        char *label = NULL;
        DwMessage unread; // such a take stays where it is
        dw_live_session_recall(place->session, folder, take_names[i], inputs, &label, &unread);
        pthread_mutex_lock(&place->lock);
        if (label) {
            snprintf(place->label, sizeof place->label, "%s", label);
            DwInputs *old = place->inputs;
            place->inputs = inputs;
            inputs = old;
        }
        pthread_mutex_unlock(&place->lock);
        dw_inputs_free(inputs);
        free(label);
    }
    pthread_mutex_unlock(&room->starting);
}

DwLiveSession *dw_live_room_session(DwLiveRoom *room, unsigned place)
{
    return room->places[place].session;
}

DwLiveInputs *dw_live_room_inputs(DwLiveRoom *room)
{
    return room->listed;
}

// Whether another place than BUT listens to INPUT. With `starting` taken.
static bool is_taken(DwLiveRoom *room, unsigned but, const char *input)
{
    bool taken = false;
    DwLiveSnapshot *snapshot = dw_memory_new(1, sizeof *snapshot);
    for (unsigned i = 0; i < DW_LIVE_PLACES; i++) {
        dw_live_session_wait(room->places[i].session, 0, 0, snapshot);
        bool runs = snapshot->state == DW_LIVE_RUNNING || snapshot->state == DW_LIVE_AWAY;
        taken = taken || (i != but && runs && strcmp(room->places[i].input, input) == 0);
    }
    free(snapshot);
    return taken;
}

// With `starting` taken. What is not wanted any more is left in *INPUTS.
static DwStatus start(DwLiveRoom *room, unsigned number, const DwLiveRoomStart *start, DwInputs **inputs,
                      DwMessage *message)
{
    enum { KEEP_S = 1200 }; // longer than the bands of any one measurement
    Place *place = &room->places[number];
    DwLiveStart wanted = {.input = start->input,
                          .inputs = *inputs,
                          .folder = start->folder,
                          .keep_s = KEEP_S,
                          .name = take_names[number],
                          .label = start->label};
    if (is_taken(room, number, start->input))
        return dw_fail(message, DW_BAD_INPUT, _("The bench is listening to “%s” already. Choose another input."),
                       start->label);
    DwStatus status = dw_live_session_start(place->session, &wanted, message);
    if (status != DW_OK)
        return status;
    pthread_mutex_lock(&place->lock);
    DwInputs *old = place->inputs;
    place->inputs = *inputs;
    *inputs = old;
    snprintf(place->label, sizeof place->label, "%s", start->label);
    snprintf(place->input, sizeof place->input, "%s", start->input);
    pthread_mutex_unlock(&place->lock);
    return DW_OK;
}

DwStatus dw_live_room_start(DwLiveRoom *room, unsigned place, const DwLiveRoomStart *wanted, DwInputs *inputs,
                            DwMessage *message)
{
    pthread_mutex_lock(&room->starting);
    DwStatus status = start(room, place, wanted, &inputs, message);
    pthread_mutex_unlock(&room->starting);
    dw_inputs_free(inputs);
    return status;
}

void dw_live_room_add_inputs(DwLiveRoom *room, unsigned number, const DwProcedure *procedure, DwInputs *inputs)
{
    Place *place = &room->places[number];
    dw_inputs_begin_source(inputs);
    pthread_mutex_lock(&place->lock);
    for (size_t i = 0; procedure->quantities[i]; i++) {
        const char *key = procedure->quantities[i], *typed = dw_inputs_typed(place->inputs, key);
        if (typed && !dw_quantity_find(key)->repeats)
            dw_inputs_set(inputs, key, typed, NULL); // it was accepted before
    }
    pthread_mutex_unlock(&place->lock);
}

// What SENTENCE, of SIZE bytes, says of quantities by their keys says it by their labels.
static void name_quantities(char *sentence, size_t size)
{
    const char *key;
    size_t length;
    if (!dw_quantity_in(sentence, sentence, &key, &length))
        return;
    char *named = dw_quantity_words(sentence);
    snprintf(sentence, size, "%.*s", dw_text_whole(named, (int)size - 1), named);
    free(named);
}

// Every sentence of a snapshot, for people who read pages and type no keys.
static void say_for_pages(DwLiveSnapshot *snapshot)
{
    DwLiveFigures *figures = &snapshot->figures;
    name_quantities(snapshot->why, sizeof snapshot->why);
    name_quantities(snapshot->remark, sizeof snapshot->remark);
    name_quantities(snapshot->take_why, sizeof snapshot->take_why);
    name_quantities(snapshot->clock.why, sizeof snapshot->clock.why);
    name_quantities(figures->why, sizeof figures->why);
    for (size_t i = 0; i < DW_LIVE_FIGURES; i++)
        name_quantities(figures->figure[i].why, sizeof figures->figure[i].why);
}

DwLiveSnapshot *dw_live_room_look(DwLiveRoom *room, unsigned number)
{
    Place *place = &room->places[number];
    DwLiveSnapshot *snapshot = dw_memory_new(1, sizeof *snapshot);
    dw_live_session_wait(place->session, 0, 0, snapshot);
    say_for_pages(snapshot);
    pthread_mutex_lock(&place->lock);
    if (*snapshot->input)
        snprintf(snapshot->input, sizeof snapshot->input, "%s", place->label);
    pthread_mutex_unlock(&place->lock);
    return snapshot;
}

// The text of (SEQ, ROW) that another device was given just now, or NULL. The caller frees it.
static char *find_text(Place *place, uint64_t seq, uint64_t row)
{
    char *found = NULL;
    pthread_mutex_lock(&place->lock);
    for (size_t i = 0; i < TEXTS && !found; i++) {
        const Text *text = &place->texts[i];
        if (text->json && text->seq == seq && text->row == row && dw_live_clock_now() - text->made_s < fresh_s)
            found = dw_memory_text(text->json);
    }
    pthread_mutex_unlock(&place->lock);
    return found;
}

static void note_text(Place *place, const char *json, uint64_t seq, uint64_t row)
{
    pthread_mutex_lock(&place->lock);
    Text *text = &place->texts[place->next++ % TEXTS];
    free(text->json);
    *text = (Text){dw_memory_text(json), seq, row, dw_live_clock_now()};
    pthread_mutex_unlock(&place->lock);
}

DwLiveRoomAnswer dw_live_room_ask(DwLiveRoom *room, unsigned number, uint64_t after_seq, uint64_t row, int timeout_ms)
{
    Place *place = &room->places[number];
    DwLiveRoomAnswer answer = {0};
    double asked_s = dw_live_clock_now();
    uint64_t seq = dw_live_session_await(place->session, after_seq, timeout_ms, &answer.since_s);
    answer.held_s = dw_live_clock_now() - asked_s;
    answer.json = find_text(place, seq, row);
    if (answer.json)
        return answer;
    DwLiveSnapshot *snapshot = dw_live_room_look(room, number);
    answer.since_s = snapshot->since_samples_s;
    answer.json = dw_live_snapshot_json(snapshot, row);
    note_text(place, answer.json, snapshot->seq, row);
    free(snapshot);
    return answer;
}
