// SPDX-License-Identifier: MIT
// A take that outlives the program: beside its samples a note says what they are, so that
// after a restart it can be kept as if the capture had just been stopped.
#include "base/memory.h"
#include "base/small_file.h"
#include "base/text.h"
#include "procedure/live/live_clock.h"
#include "procedure/live/live_inside.h"
#include "procedure/live/live_words.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { VERSION = 1, NOTE_MOST = 1 << 20 };
static const double NOTED_EACH_S = 1;

char *dw_live_recall_path(const char *folder, const char *name, bool is_note)
{
    return dw_text_format("%s/%s.%s", folder, name, is_note ? "json" : "take");
}

// --- writing it down -----------------------------------------------------------------

static json_t *of_origin(const DwSourceOrigin *origin)
{
    return json_pack("{s:s, s:f, s:i, s:i, s:o, s:b, s:b, s:b}", "device", origin->device, "rate", origin->rate_hz,
                     "channels", (int)origin->channels, "bits", (int)origin->bits, "gain_db",
                     isfinite(origin->gain_db) ? json_real(origin->gain_db) : json_null(), "muted", origin->is_muted,
                     "resampled", origin->is_resampled, "unsure", origin->is_unsure);
}

static json_t *of_gaps(const DwLiveCourse *course)
{
    json_t *gaps = json_array();
    for (size_t i = 0; i < course->gap_count; i++) {
        const DwLiveGap *gap = &course->gaps[i];
        json_array_append_new(gaps, json_pack("[I, f, I, b]", (json_int_t)gap->place, gap->lost_s,
                                              (json_int_t)gap->count, gap->is_apart));
    }
    return gaps;
}

static json_t *of_levels(const DwLiveCourse *course)
{
    json_t *levels = json_array();
    for (size_t i = 0; i < course->level_count; i++) {
        const DwLiveLevelMark *mark = &course->levels[i];
        json_array_append_new(levels, json_pack("[I, o, b]", (json_int_t)mark->place,
                                                isfinite(mark->gain_db) ? json_real(mark->gain_db) : json_null(),
                                                mark->is_muted));
    }
    return levels;
}

static json_t *of_inputs(const DwInputs *inputs)
{
    json_t *typed = json_array();
    const DwQuantity *row;
    const char *value;
    for (size_t i = 0; (row = dw_quantity_at(i)); i++)
        for (size_t k = 0; (value = dw_inputs_own_typed(inputs, row, k)); k++)
            json_array_append_new(typed, json_pack("[s, s]", row->key, value));
    return typed;
}

// Only the capture thread changes what is written here.
static json_t *note_of(const DwLiveSession *session, uint64_t end, double keep_s)
{
    const DwLiveSnapshot *snapshot = &session->snapshot;
    return json_pack("{s:i, s:s, s:s, s:f, s:i, s:f, s:I, s:f, s:o, s:o, s:o, s:o}", "deckwright_take", VERSION,
                     "input", session->capture.input, "label", session->label, "rate", snapshot->rate_hz, "channels",
                     (int)snapshot->channels, "keep_s", keep_s, "end", (json_int_t)end, "lost_s", snapshot->lost_s,
                     "origin", of_origin(&snapshot->origin), "gaps", of_gaps(&session->course), "levels",
                     of_levels(&session->course), "inputs", of_inputs(session->inputs));
}

void dw_live_recall_note(DwLiveSession *session, bool at_once)
{
    DwLiveCapture *capture = &session->capture;
    double now_s = dw_live_clock_now();
    if (!capture->note || !capture->take || (!at_once && now_s < capture->noted_s + NOTED_EACH_S))
        return;
    uint64_t from = 0, end = 0;
    dw_live_take_span(capture->take, &from, &end);
    json_t *note = note_of(session, end, dw_live_take_keeps_s(capture->take));
    char *part = dw_text_format("%s.part", capture->note);
    // Whole or not at all: it takes the place of the one before. Without room for it the older one stands.
    if (note && json_dump_file(note, part, JSON_COMPACT) == 0)
        rename(part, capture->note);
    else
        unlink(part);
    json_decref(note);
    free(part);
    capture->noted_s = now_s;
}

// --- finding it again -------------------------------------------------------------------

static double number_or_nan(const json_t *value)
{
    return json_is_number(value) ? json_number_value(value) : NAN;
}

static void read_course(const json_t *note, DwLiveCourse *course)
{
    size_t i;
    json_t *one;
    course->gap_count = course->level_count = 0;
    json_array_foreach(json_object_get(note, "gaps"), i, one)
    {
        if (course->gap_count == DW_LIVE_GAPS)
            break;
        course->gaps[course->gap_count++] =
            (DwLiveGap){(uint64_t)json_integer_value(json_array_get(one, 0)), json_number_value(json_array_get(one, 1)),
                        (size_t)json_integer_value(json_array_get(one, 2)), json_is_true(json_array_get(one, 3))};
    }
    json_array_foreach(json_object_get(note, "levels"), i, one)
    {
        if (course->level_count == DW_LIVE_LEVEL_MARKS)
            break;
        course->levels[course->level_count++] =
            (DwLiveLevelMark){(uint64_t)json_integer_value(json_array_get(one, 0)),
                              number_or_nan(json_array_get(one, 1)), json_is_true(json_array_get(one, 2))};
    }
}

static void read_origin(const json_t *from, DwSourceOrigin *origin)
{
    const char *device = json_string_value(json_object_get(from, "device"));
    *origin = (DwSourceOrigin){.rate_hz = json_number_value(json_object_get(from, "rate")),
                               .channels = (unsigned)json_integer_value(json_object_get(from, "channels")),
                               .bits = (unsigned)json_integer_value(json_object_get(from, "bits")),
                               .gain_db = number_or_nan(json_object_get(from, "gain_db")),
                               .is_muted = json_is_true(json_object_get(from, "muted")),
                               .is_resampled = json_is_true(json_object_get(from, "resampled")),
                               .is_unsure = json_is_true(json_object_get(from, "unsure"))};
    snprintf(origin->device, sizeof origin->device, "%s", device ? device : "");
}

static void read_inputs(const json_t *note, DwInputs *inputs)
{
    size_t i;
    json_t *one;
    json_array_foreach(json_object_get(note, "inputs"), i, one)
    {
        const char *key = json_string_value(json_array_get(one, 0)), *typed = json_string_value(json_array_get(one, 1));
        if (key && typed)
            dw_inputs_set(inputs, key, typed, NULL); // what an older program knew and this one does not is left out
    }
}

// Makes the session one whose capture of NOTE was stopped.
static void take_over(DwLiveSession *session, const json_t *note, const char *input)
{
    DwLiveSnapshot *snapshot = &session->snapshot;
    pthread_mutex_lock(&session->lock);
    snapshot->seq++;
    snapshot->state = DW_LIVE_STOPPED;
    snprintf(snapshot->why, sizeof snapshot->why,
             "The bench was started anew. What it heard before can still be kept.");
    snprintf(snapshot->input, sizeof snapshot->input, "%s", input);
    snapshot->rate_hz = session->capture.take ? json_number_value(json_object_get(note, "rate")) : 0;
    snapshot->channels = session->capture.channels;
    snapshot->lost_s = json_number_value(json_object_get(note, "lost_s"));
    *snapshot->take_why = '\0';
    read_origin(json_object_get(note, "origin"), &snapshot->origin);
    read_course(note, &session->course);
    dw_live_take_span(session->capture.take, &snapshot->take_from, &snapshot->position);
    snapshot->stretches = dw_live_course_stretches(&session->course, snapshot->take_from, snapshot->stretch);
    pthread_cond_broadcast(&session->changed);
    pthread_mutex_unlock(&session->lock);
}

// With `control` taken.
static DwStatus recall(DwLiveSession *session, const char *path, const json_t *note, DwInputs *inputs,
                       DwMessage *message)
{
    const char *input = json_string_value(json_object_get(note, "input"));
    const char *label = json_string_value(json_object_get(note, "label"));
    double rate_hz = json_number_value(json_object_get(note, "rate"));
    double keep_s = json_number_value(json_object_get(note, "keep_s"));
    json_int_t channels = json_integer_value(json_object_get(note, "channels"));
    json_int_t end = json_integer_value(json_object_get(note, "end"));
    if (json_integer_value(json_object_get(note, "deckwright_take")) != VERSION || !input || !label || channels < 1 ||
        channels > 2 || end < 1 || !(rate_hz > 0 && rate_hz < 1e7 && keep_s > 0 && keep_s < 1e6))
        return dw_fail(message, DW_BAD_INPUT, "%s: what was noted of the take cannot be read.", path);
    DwLiveTake *take = NULL;
    DwStatus status = dw_live_take_at(path, rate_hz, (unsigned)channels, keep_s, (uint64_t)end, &take, message);
    if (status != DW_OK)
        return status;
    session->capture.take = take;
    session->capture.channels = (unsigned)channels;
    session->capture.frames = (uint64_t)end;
    session->label = dw_memory_text(label);
    read_inputs(note, inputs);
    take_over(session, note, input);
    return DW_OK;
}

DwStatus dw_live_session_recall(DwLiveSession *session, const char *folder, const char *name, DwInputs *inputs,
                                char **label, DwMessage *message)
{
    char *path = dw_live_recall_path(folder, name, false), *note_path = dw_live_recall_path(folder, name, true);
    char *text = NULL;
    size_t length;
    DwStatus status = DW_OK;
    *label = NULL;
    if (access(note_path, F_OK) == 0) {
        status = dw_small_file_read(note_path, NOTE_MOST, &text, &length, message);
        json_t *note = status == DW_OK ? json_loadb(text, length, 0, NULL) : NULL;
        pthread_mutex_lock(&session->control);
        dw_live_session_forget(session);
        if (status == DW_OK)
            status = recall(session, path, note, inputs, message);
        if (status == DW_OK) {
            session->folder = dw_memory_text(folder);
            session->capture.note = dw_memory_text(note_path);
            *label = dw_memory_text(session->label);
        }
        pthread_mutex_unlock(&session->control);
        json_decref(note);
    }
    free(text);
    free(path);
    free(note_path);
    return status;
}

// --- dropping it ------------------------------------------------------------------------

DwStatus dw_live_session_drop(DwLiveSession *session, DwMessage *message)
{
    pthread_mutex_lock(&session->control);
    pthread_mutex_lock(&session->lock);
    bool runs = session->snapshot.state == DW_LIVE_RUNNING || session->snapshot.state == DW_LIVE_AWAY;
    pthread_mutex_unlock(&session->lock);
    if (runs) {
        pthread_mutex_unlock(&session->control);
        return dw_fail(message, DW_BAD_INPUT, "The bench is still listening. Stop it first.");
    }
    char *note = session->capture.note ? dw_memory_text(session->capture.note) : NULL;
    dw_live_session_forget(session);
    if (note) {
        char *path = dw_text_format("%.*s.take", (int)(strlen(note) - strlen(".json")), note);
        unlink(note);
        unlink(path);
        free(path);
    }
    free(note);
    pthread_mutex_lock(&session->lock);
    session->snapshot.seq++;
    session->snapshot.stretches = 0;
    session->snapshot.take_from = session->snapshot.position;
    snprintf(session->snapshot.take_why, sizeof session->snapshot.take_why, "What was heard was dropped.");
    pthread_cond_broadcast(&session->changed);
    pthread_mutex_unlock(&session->lock);
    pthread_mutex_unlock(&session->control);
    return DW_OK;
}
