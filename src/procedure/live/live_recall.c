// SPDX-License-Identifier: MIT
// A take that outlives the program: beside its samples a note says what they are, so that
// after a restart it can be kept as if the capture had just been stopped.
#include "base/memory.h"
#include "base/small_file.h"
#include "base/text.h"
#include "base/tongue.h"
#include "procedure/live/live_clock.h"
#include "procedure/live/live_inside.h"
#include "procedure/live/live_words.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { NOTE_MOST = 1 << 20 };
static const char first_line[] = "what a take of the bench is, 1";
static const double NOTED_EACH_S = 1;

char *dw_live_recall_path(const char *folder, const char *name, bool is_note)
{
    return dw_text_format("%s/%s.%s", folder, name, is_note ? "note" : "take");
}

// --- writing it down -----------------------------------------------------------------

// A line of WORD and TEXT, which is one line whatever stands in it.
static void add_line(DwText *note, const char *word, const char *text)
{
    dw_text_add(note, "%s ", word);
    for (const char *at = text; *at; at++)
        dw_text_add(note, "%c", *at == '\n' || *at == '\r' ? ' ' : *at);
    dw_text_add(note, "\n");
}

static void add_origin(DwText *note, const DwSourceOrigin *origin)
{
    add_line(note, "device", origin->device);
    dw_text_add(note, "origin %.17g %u %u %.17g %d %d %d\n", origin->rate_hz, origin->channels, origin->bits,
                origin->gain_db, origin->is_muted, origin->is_resampled, origin->is_unsure);
}

static void add_course(DwText *note, const DwLiveCourse *course)
{
    for (size_t i = 0; i < course->gap_count; i++) {
        const DwLiveGap *gap = &course->gaps[i];
        dw_text_add(note, "gap %" PRIu64 " %.17g %zu %d\n", gap->place, gap->lost_s, gap->count, gap->is_apart);
    }
    for (size_t i = 0; i < course->level_count; i++) {
        const DwLiveLevelMark *mark = &course->levels[i];
        dw_text_add(note, "level %" PRIu64 " %.17g %d\n", mark->place, mark->gain_db, mark->is_muted);
    }
}

static void add_inputs(DwText *note, const DwInputs *inputs)
{
    const DwQuantity *row;
    const char *value;
    for (size_t i = 0; (row = dw_quantity_at(i)); i++)
        for (size_t k = 0; (value = dw_inputs_own_typed(inputs, row, k)); k++) {
            char *line = dw_text_format("%s %s", row->key, value);
            add_line(note, "given", line);
            free(line);
        }
}

// Only the capture thread changes what is written here.
static char *note_of(const DwLiveSession *session, uint64_t end, double keep_s)
{
    const DwLiveSnapshot *snapshot = &session->snapshot;
    DwText note = {0};
    dw_text_add(&note, "%s\n", first_line);
    add_line(&note, "input", session->capture.input);
    add_line(&note, "label", session->label);
    dw_text_add(&note, "take %.17g %u %.17g %" PRIu64 " %.17g\n", snapshot->rate_hz, snapshot->channels, keep_s, end,
                snapshot->lost_s);
    add_origin(&note, &snapshot->origin);
    add_course(&note, &session->course);
    add_inputs(&note, session->inputs);
    return dw_text_take(&note);
}

static bool write_whole(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    bool written = file && fputs(text, file) >= 0;
    return file && fclose(file) == 0 && written;
}

void dw_live_recall_note(DwLiveSession *session, bool at_once)
{
    DwLiveCapture *capture = &session->capture;
    double now_s = dw_live_clock_now();
    if (!capture->note || !capture->take || (!at_once && now_s < capture->noted_s + NOTED_EACH_S))
        return;
    uint64_t from = 0, end = 0;
    dw_live_take_span(capture->take, &from, &end);
    char *note = note_of(session, end, dw_live_take_keeps_s(capture->take));
    char *part = dw_text_format("%s.part", capture->note);
    // Whole or not at all: it takes the place of the one before. Without room for it the older one stands.
    if (write_whole(part, note))
        rename(part, capture->note);
    else
        unlink(part);
    free(note);
    free(part);
    capture->noted_s = now_s;
}

// --- finding it again -------------------------------------------------------------------

// What stands in a note.
typedef struct {
    char input[256], label[256];
    double rate_hz, keep_s, lost_s;
    unsigned channels;
    uint64_t end;
    DwSourceOrigin origin;
    DwLiveCourse course;
} Note;

static void read_origin(const char *text, DwSourceOrigin *origin)
{
    int muted = 0, resampled = 0, unsure = 0;
    sscanf(text, "%lf %u %u %lf %d %d %d", &origin->rate_hz, &origin->channels, &origin->bits, &origin->gain_db, &muted,
           &resampled, &unsure);
    origin->is_muted = muted;
    origin->is_resampled = resampled;
    origin->is_unsure = unsure;
}

static void read_gap(const char *text, DwLiveCourse *course)
{
    DwLiveGap gap = {0};
    int apart = 0;
    if (course->gap_count == DW_LIVE_GAPS ||
        sscanf(text, "%" SCNu64 " %lf %zu %d", &gap.place, &gap.lost_s, &gap.count, &apart) != 4)
        return;
    gap.is_apart = apart;
    course->gaps[course->gap_count++] = gap;
}

static void read_level(const char *text, DwLiveCourse *course)
{
    DwLiveLevelMark mark = {0};
    int muted = 0;
    if (course->level_count == DW_LIVE_LEVEL_MARKS ||
        sscanf(text, "%" SCNu64 " %lf %d", &mark.place, &mark.gain_db, &muted) != 3)
        return;
    mark.is_muted = muted;
    course->levels[course->level_count++] = mark;
}

// KEY and its value; what an older program knew and this one does not is left out.
static void read_given(char *text, DwInputs *inputs)
{
    char *blank = strchr(text, ' ');
    if (!blank)
        return;
    *blank = '\0';
    dw_inputs_set(inputs, text, blank + 1, NULL);
}

static void read_line(const char *word, char *rest, Note *note, DwInputs *inputs)
{
    if (strcmp(word, "input") == 0)
        snprintf(note->input, sizeof note->input, "%s", rest);
    else if (strcmp(word, "label") == 0)
        snprintf(note->label, sizeof note->label, "%s", rest);
    else if (strcmp(word, "take") == 0)
        sscanf(rest, "%lf %u %lf %" SCNu64 " %lf", &note->rate_hz, &note->channels, &note->keep_s, &note->end,
               &note->lost_s);
    else if (strcmp(word, "device") == 0)
        snprintf(note->origin.device, sizeof note->origin.device, "%s", rest);
    else if (strcmp(word, "origin") == 0)
        read_origin(rest, &note->origin);
    else if (strcmp(word, "gap") == 0)
        read_gap(rest, &note->course);
    else if (strcmp(word, "level") == 0)
        read_level(rest, &note->course);
    else if (strcmp(word, "given") == 0)
        read_given(rest, inputs);
}

// Reads TEXT, which is used up. Returned: whether it is a whole note.
static bool read_note(char *text, Note *note, DwInputs *inputs)
{
    char *next = NULL, *line = strtok_r(text, "\n", &next);
    *note = (Note){.origin.gain_db = NAN};
    if (!line || strcmp(line, first_line) != 0)
        return false;
    while ((line = strtok_r(NULL, "\n", &next))) {
        char *blank = strchr(line, ' ');
        if (!blank)
            continue;
        *blank = '\0';
        read_line(line, blank + 1, note, inputs);
    }
    return *note->input && note->end > 0 && note->channels >= 1 && note->channels <= 2 && note->rate_hz > 0 &&
           note->rate_hz < 1e7 && note->keep_s > 0 && note->keep_s < 1e6;
}

// Makes the session one whose capture of NOTE was stopped.
static void take_over(DwLiveSession *session, const Note *note)
{
    DwLiveSnapshot *snapshot = &session->snapshot;
    pthread_mutex_lock(&session->lock);
    snapshot->seq++;
    snapshot->state = DW_LIVE_STOPPED;
    dw_say_into(snapshot->why, sizeof snapshot->why,
                "The bench was restarted. What it heard before can still be kept.");
    snprintf(snapshot->input, sizeof snapshot->input, "%s", note->input);
    snapshot->rate_hz = note->rate_hz;
    snapshot->channels = note->channels;
    snapshot->lost_s = note->lost_s;
    *snapshot->take_why = '\0';
    snapshot->origin = note->origin;
    session->course = note->course;
    dw_live_take_span(session->capture.take, &snapshot->take_from, &snapshot->position);
    snapshot->stretches = dw_live_course_stretches(&session->course, snapshot->take_from, snapshot->stretch);
    pthread_cond_broadcast(&session->changed);
    pthread_mutex_unlock(&session->lock);
}

// With `control` taken. TEXT is used up.
static DwStatus recall(DwLiveSession *session, const char *path, char *text, DwInputs *inputs, DwMessage *message)
{
    Note *note = dw_memory_new(1, sizeof *note);
    DwLiveCapture *capture = &session->capture;
    DwStatus status =
        read_note(text, note, inputs)
            ? dw_live_take_at(path, note->rate_hz, note->channels, note->keep_s, note->end, &capture->take, message)
            : dw_fail(message, DW_BAD_INPUT, "%s: what was noted of the take cannot be read.", path);
    if (status == DW_OK) {
        capture->channels = note->channels;
        capture->frames = note->end;
        session->label = dw_memory_text(note->label);
        take_over(session, note);
    }
    free(note);
    return status;
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
        pthread_mutex_lock(&session->control);
        dw_live_session_forget(session);
        if (status == DW_OK)
            status = recall(session, path, text, inputs, message);
        if (status == DW_OK) {
            session->folder = dw_memory_text(folder);
            session->capture.note = dw_memory_text(note_path);
            *label = dw_memory_text(session->label);
        }
        pthread_mutex_unlock(&session->control);
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
        char *path = dw_text_format("%.*s.take", (int)(strlen(note) - strlen(".note")), note);
        unlink(note);
        unlink(path);
        free(path);
    }
    free(note);
    pthread_mutex_lock(&session->lock);
    session->snapshot.seq++;
    session->snapshot.stretches = 0;
    session->snapshot.take_from = session->snapshot.position;
    dw_say_into(session->snapshot.take_why, sizeof session->snapshot.take_why, "What was heard was dropped.");
    pthread_cond_broadcast(&session->changed);
    pthread_mutex_unlock(&session->lock);
    pthread_mutex_unlock(&session->control);
    return DW_OK;
}
