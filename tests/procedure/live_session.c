// SPDX-License-Identifier: MIT
// The live session on the test tone and on a recording at its own speed; the
// take; the JSON. No check hangs on how fast the machine is.
#include "procedure/live/live_session.h"

#include "audio/source.h"
#include "play_file.h"
#include "procedure/live/live_json.h"
#include "procedure/live/live_take.h"

#include <jansson.h>
#include <pthread.h>

enum { PATIENCE_MS = 20000 };

static DwLiveSnapshot *new_snapshot(void)
{
    return calloc(1, sizeof(DwLiveSnapshot));
}

static void start(DwLiveSession *session, const char *input, const char *operands)
{
    DwInputs *inputs = call_inputs(operands);
    DwMessage message = {""};
    DwLiveStart start = {.input = input, .inputs = inputs, .keep_s = 60};
    ck_assert_msg(dw_live_session_start(session, &start, &message) == DW_OK, "%s", message.text);
    dw_inputs_free(inputs);
}

// Waits until figure NAME is of now.
static void wait_for(DwLiveSession *session, DwLiveFigureName name, DwLiveSnapshot *snapshot)
{
    uint64_t seq = 0;
    do {
        ck_assert(dw_live_session_wait(session, seq, PATIENCE_MS, snapshot));
        ck_assert_msg(snapshot->state == DW_LIVE_RUNNING, "%s", snapshot->why);
        ck_assert_uint_gt(snapshot->seq, seq);
        seq = snapshot->seq;
    } while (snapshot->figures.figure[name].stale);
}

// A second reader, in a thread of its own.
static void *read_twenty(void *opaque)
{
    DwLiveSession *session = opaque;
    DwLiveSnapshot *snapshot = new_snapshot();
    uint64_t last = 0, *frames = calloc(1, sizeof *frames);
    for (int i = 0; i < 20; i++)
        if (dw_live_session_wait(session, last, PATIENCE_MS, snapshot)) {
            *frames += snapshot->figures.frames > 0;
            last = snapshot->seq;
        }
    free(snapshot);
    return frames;
}

START_TEST(the_test_tone_is_measured_and_shared)
{
    DwLiveSession *session = dw_live_session_new();
    DwLiveSnapshot *snapshot = new_snapshot();
    ck_assert(dw_live_session_wait(session, 0, 0, snapshot));
    ck_assert_int_eq(snapshot->state, DW_LIVE_STOPPED);
    start(session, "tone", "deck.class=hifi");
    pthread_t reader;
    ck_assert_int_eq(pthread_create(&reader, NULL, read_twenty, session), 0);
    wait_for(session, DW_LIVE_POLARITY, snapshot);
    wait_for(session, DW_LIVE_SPEED_NOW, snapshot);
    const DwLiveFigures *figures = &snapshot->figures;
    ck_assert_double_eq_tol(figures->figure[DW_LIVE_SPEED_NOW].value, 0, 0.005);
    ck_assert_double_eq(figures->engraved_hz, 3150);
    ck_assert_double_eq_tol(figures->level[1].rms_db, -6.02, 0.02); // half of full scale
    ck_assert_uint_eq(figures->level[0].clipped, 0);
    ck_assert(snapshot->limit[DW_LIVE_SPEED_NOW].stated && *snapshot->limit[DW_LIVE_SPEED_NOW].source);
    ck_assert(isnan(snapshot->clock.error_ppm) && strstr(snapshot->clock.why, "computer's own clock"));
    DwMessage message = {""};
    DwInputs *none = dw_inputs_new();
    ck_assert_int_eq(dw_live_session_start(session, &(DwLiveStart){.input = "tone", .inputs = none}, &message),
                     DW_BAD_INPUT);
    ck_assert_str_eq(message.text, "The bench is listening to \"tone\" already. Stop it first.");
    void *counted = NULL;
    pthread_join(reader, &counted);
    ck_assert_uint_ge(*(uint64_t *)counted, 18);
    free(counted);
    DwSheet *sheet = NULL;
    DwLiveKeep keep = {.last_s = 0.5, .procedure = "speed", .inputs = none};
    ck_assert_int_eq(dw_live_session_keep(session, &keep, &sheet, &message), DW_BAD_INPUT); // too short
    ck_assert_ptr_null(sheet);
    dw_live_session_stop(session);
    dw_live_session_wait(session, 0, 0, snapshot);
    ck_assert_int_eq(snapshot->state, DW_LIVE_STOPPED);
    for (size_t i = 0; i < DW_LIVE_FIGURES; i++)
        ck_assert(figures->figure[i].stale && strcmp(figures->figure[i].why, "The input was stopped.") == 0);
    uint64_t seq = snapshot->seq;
    ck_assert(!dw_live_session_wait(session, seq, 10, snapshot)); // nothing new, but filled
    ck_assert_uint_eq(snapshot->seq, seq);
    dw_inputs_free(none);
    dw_live_session_free(session);
    free(snapshot);
}
END_TEST

// The readings of both sheets, digit for digit.
static void expect_same(const DwSheet *live, const DwSheet *file)
{
    ck_assert_uint_eq(live->reading_count, file->reading_count);
    for (size_t i = 0; i < file->reading_count; i++) {
        const DwReading *a = &live->readings[i], *b = &file->readings[i];
        ck_assert_str_eq(a->key, b->key);
        ck_assert_msg((isnan(a->value) && isnan(b->value)) || a->value == b->value, "%s: %.12g, %.12g", a->key,
                      a->value, b->value);
        ck_assert_uint_eq(a->flags, b->flags);
        ck_assert_int_eq(a->verdict, b->verdict);
    }
    ck_assert_uint_eq(live->raster_count, file->raster_count);
}

START_TEST(what_is_kept_is_what_the_file_gives)
{
    char *path = play_name("played"), *kept = play_name("kept"), input[600];
    size_t count;
    float *samples =
        play_samples("deck.speed=78rpm synth.channels=1 synth.length=4s fault.wow=0.1% fault.speed_error=0.4%", &count);
    play_write(path, 48000, samples, count);
    snprintf(input, sizeof input, "file:%s", path);
    DwLiveSession *session = dw_live_session_new();
    DwLiveSnapshot *snapshot = new_snapshot();
    start(session, input, "deck.speed=78rpm"); // three turns take 2.3 s
    uint64_t seq = 0;
    bool was_settled = false;
    do {
        ck_assert(dw_live_session_wait(session, seq, PATIENCE_MS, snapshot));
        seq = snapshot->seq;
        was_settled = was_settled || !snapshot->figures.figure[DW_LIVE_WEIGHTED_RMS].stale;
    } while (snapshot->state == DW_LIVE_RUNNING);
    ck_assert_int_eq(snapshot->state, DW_LIVE_ENDED);
    ck_assert(was_settled);
    ck_assert_uint_eq(snapshot->position, count);
    ck_assert_double_eq_tol(snapshot->figures.figure[DW_LIVE_SPEED_ERROR].value, 0.4, 0.005);
    ck_assert(snapshot->figures.figure[DW_LIVE_SPEED_ERROR].stale);
    static const char *const procedures[] = {"speed", "channels"};
    DwMessage message = {""};
    static const char operands[] = "record.tone=3150Hz deck.speed=78rpm";
    DwInputs *inputs = call_inputs(operands);
    for (size_t i = 0; i < 2; i++) {
        DwSheet *live = NULL, *file = call_files(procedures[i], (const char *const[]){path}, 1, operands, &message);
        DwLiveKeep keep = {.last_s = NAN, .procedure = procedures[i], .inputs = inputs, .path = i ? kept : NULL};
        ck_assert_msg(dw_live_session_keep(session, &keep, &live, &message) == DW_OK, "%s", message.text);
        ck_assert_msg(file, "%s", message.text);
        expect_same(live, file);
        if (i == 0)
            ck_assert(strncmp(live->subject, "live, file:", 11) == 0);
        dw_sheet_free(live);
        dw_sheet_free(file);
    }
    ck_assert_int_eq(access(kept, R_OK), 0);
    dw_inputs_free(inputs);
    dw_live_session_free(session);
    unlink(path);
    unlink(kept);
    free(path);
    free(kept);
    free(samples);
    free(snapshot);
}
END_TEST

// The readings of speed of COUNT samples without the SKIPPED ones from the middle on.
static DwSheet *measure_hole(const char *path, const float *samples, size_t count, size_t skipped)
{
    DwMessage message = {""};
    float *holed = malloc(count * sizeof *holed);
    memcpy(holed, samples, count / 2 * sizeof *holed);
    memcpy(holed + count / 2, samples + count / 2 + skipped, (count - count / 2 - skipped) * sizeof *holed);
    play_write(path, 48000, holed, count - skipped);
    DwSheet *sheet = call_files("speed", (const char *const[]){path}, 1, "record.tone=3150Hz", &message);
    ck_assert_msg(sheet, "%s", message.text);
    free(holed);
    return sheet;
}

// What a loss too short to be noticed can do to a sheet.
START_TEST(a_hole_under_12_ms_moves_nothing)
{
    static const char *const keys[] = {"speed.error", "speed.drift", "flutter.weighted.two_sigma",
                                       "flutter.unweighted.quasi_peak", "revolution.amplitude"};
    static const double lengths_s[] = {0.0011, 0.0031, 0.0052, 0.0079, 0.0097, 0.0119};
    char *path = play_name("hole");
    size_t count;
    float *samples = play_samples("synth.channels=1 synth.length=24s fault.wow=0.2% fault.speed_error=0.4%", &count);
    DwSheet *whole = measure_hole(path, samples, count, 0);
    for (size_t i = 0; i < sizeof lengths_s / sizeof *lengths_s; i++) {
        DwSheet *holed = measure_hole(path, samples, count, (size_t)(lengths_s[i] * 48000));
        for (size_t k = 0; k < sizeof keys / sizeof *keys; k++)
            ck_assert_double_eq_tol(dw_sheet_reading(holed, keys[k])->value, dw_sheet_reading(whole, keys[k])->value,
                                    0.0003);
        dw_sheet_free(holed);
    }
    dw_sheet_free(whole);
    unlink(path);
    free(path);
    free(samples);
}
END_TEST

START_TEST(the_last_seconds_and_a_frozen_moment_can_be_kept)
{
    DwLiveSession *session = dw_live_session_new();
    DwLiveSnapshot *snapshot = new_snapshot();
    char *path = play_name("cut");
    start(session, "tone", "");
    wait_for(session, DW_LIVE_SPEED_NOW, snapshot);
    uint64_t frozen = snapshot->position, seq = snapshot->seq;
    for (int i = 0; i < 4; i++, seq = snapshot->seq)
        ck_assert(dw_live_session_wait(session, seq, PATIENCE_MS, snapshot));
    ck_assert_uint_gt(snapshot->position, frozen); // the engine goes on
    DwLiveKeep keep = {.last_s = 0.25, .until = frozen, .path = path};
    DwSheet *sheet = NULL;
    DwMessage message = {""};
    ck_assert_msg(dw_live_session_keep(session, &keep, &sheet, &message) == DW_OK, "%s", message.text);
    ck_assert_ptr_null(sheet);
    DwSource *source = NULL;
    ck_assert_int_eq(dw_source_open(path, &source, &message), DW_OK);
    ck_assert_int_eq(dw_source_frames(source), 12000);
    dw_source_close(source);
    unlink(path);
    free(path);
    dw_live_session_free(session); // while it runs
    free(snapshot);
}
END_TEST

START_TEST(what_cannot_be_is_refused)
{
    DwLiveSession *session = dw_live_session_new();
    DwLiveSnapshot *snapshot = new_snapshot();
    DwInputs *inputs = dw_inputs_new();
    DwMessage message = {""};
    DwSheet *sheet = NULL;
    DwLiveKeep keep = {.last_s = NAN, .procedure = "speed", .inputs = inputs};
    ck_assert_int_eq(dw_live_session_keep(session, &keep, &sheet, &message), DW_BAD_INPUT);
    ck_assert_str_eq(message.text, "Nothing can be kept: No input was started.");
    DwLiveStart bad = {.input = "bench card 7", .inputs = inputs, .keep_s = 1};
    ck_assert_int_eq(dw_live_session_start(session, &bad, &message), DW_BAD_INPUT);
    ck_assert(strstr(message.text, "there is no such input"));
    bad = (DwLiveStart){.input = "tone", .inputs = inputs, .folder = "/nowhere/at/all", .keep_s = 1};
    ck_assert_int_eq(dw_live_session_start(session, &bad, &message), DW_FAILED);
    ck_assert(strstr(message.text, "/nowhere/at/all"));
    dw_live_session_wait(session, 0, 0, snapshot);
    ck_assert_int_eq(snapshot->state, DW_LIVE_STOPPED);
    bad = (DwLiveStart){.input = "tone", .inputs = inputs}; // no take
    ck_assert_int_eq(dw_live_session_start(session, &bad, &message), DW_OK);
    ck_assert_int_eq(dw_live_session_keep(session, &keep, &sheet, &message), DW_BAD_INPUT);
    ck_assert_str_eq(message.text, "Nothing can be kept: No take was asked for.");
    dw_live_session_stop(session);
    dw_live_session_stop(session); // twice is no harm
    ck_assert_int_eq(dw_live_session_start(session, &bad, &message), DW_OK);
    dw_inputs_free(inputs);
    dw_live_session_free(session);
    free(snapshot);
}
END_TEST

START_TEST(a_take_keeps_its_last_seconds_exactly)
{
    enum { RATE = 8000, BLOCK = 777, TOTAL = 8000 * 40 };
    DwMessage message = {""};
    DwLiveTake *take = NULL;
    char *path = play_name("take");
    ck_assert_int_eq(dw_live_take_new("/tmp", RATE, 2, 5, &take, &message), DW_OK);
    float block[2 * BLOCK];
    uint64_t from, to = 0;
    for (uint64_t n = 0; n < TOTAL; n += BLOCK) {
        for (size_t i = 0; i < BLOCK; i++) {
            block[2 * i] = (float)(n + i) / (float)(1 << 20);
            block[2 * i + 1] = -block[2 * i];
        }
        ck_assert_int_eq(dw_live_take_push(take, block, BLOCK, &message), DW_OK);
    }
    dw_live_take_span(take, &from, &to);
    ck_assert_uint_eq(to - from, 5 * RATE);
    ck_assert_int_eq(dw_live_take_write(take, from, to, path, &message), DW_OK);
    DwSource *source = NULL;
    ck_assert_int_eq(dw_source_open(path, &source, &message), DW_OK);
    static float read[2 * 5 * RATE];
    size_t got = 0;
    ck_assert_int_eq(dw_source_read(source, read, (size_t)5 * RATE, &got, NULL, &message), DW_OK);
    ck_assert_uint_eq(got, 5 * RATE);
    for (size_t i = 0; i < got; i++)
        ck_assert(read[2 * i] == (float)(from + i) / (float)(1 << 20) && read[2 * i + 1] == -read[2 * i]);
    dw_source_close(source);
    unlink(path);
    ck_assert_int_eq(dw_live_take_write(take, 0, RATE, path, &message), DW_FAILED); // long overwritten
    ck_assert_int_ne(access(path, F_OK), 0);
    block[5] = NAN;
    ck_assert_int_eq(dw_live_take_push(take, block, BLOCK, &message), DW_OK);
    dw_live_take_span(take, &from, &to);
    ck_assert_int_eq(dw_live_take_write(take, from, to, path, &message), DW_BAD_INPUT);
    ck_assert_int_ne(access(path, F_OK), 0);
    dw_live_take_free(take);
    free(path);
}
END_TEST

START_TEST(the_json_says_what_the_snapshot_says)
{
    DwLiveSession *session = dw_live_session_new();
    DwLiveSnapshot *snapshot = new_snapshot();
    start(session, "tone", "");
    wait_for(session, DW_LIVE_SPEED_NOW, snapshot);
    char *text = dw_live_snapshot_json(snapshot, 0);
    json_error_t error;
    json_t *root = json_loads(text, 0, &error);
    ck_assert_msg(root, "%s", error.text);
    json_t *figures = json_object_get(root, "figures"), *now = json_object_get(figures, "speed.now");
    ck_assert_uint_eq(json_object_size(figures), DW_LIVE_FIGURES);
    ck_assert_double_eq_tol(json_number_value(json_object_get(now, "value")),
                            snapshot->figures.figure[DW_LIVE_SPEED_NOW].value, 1e-5);
    ck_assert(json_is_false(json_object_get(now, "stale")));
    ck_assert_double_eq(json_number_value(json_object_get(json_object_get(now, "limit"), "high")),
                        snapshot->limit[DW_LIVE_SPEED_NOW].allowed.high);
    json_t *flutter = json_object_get(figures, "flutter.weighted.two_sigma");
    ck_assert(json_is_null(json_object_get(flutter, "value")) && json_is_true(json_object_get(flutter, "stale")));
    ck_assert(strncmp(json_string_value(json_object_get(flutter, "why")), "Not yet", 7) == 0);
    ck_assert_str_eq(json_string_value(json_object_get(root, "state")), "running");
    json_t *rows = json_object_get(json_object_get(root, "raster"), "rows");
    ck_assert_uint_eq(json_array_size(rows), snapshot->raster.begun);
    json_t *values = json_object_get(json_array_get(rows, json_array_size(rows) - 1), "values");
    ck_assert_uint_eq(json_array_size(values), snapshot->raster.cells);
    ck_assert_uint_eq(json_array_size(json_object_get(root, "levels")), 2);
    json_decref(root);
    free(text);
    text = dw_live_snapshot_json(snapshot, snapshot->raster.begun);
    ck_assert_ptr_nonnull(strstr(text, "\"rows\":[]"));
    free(text);
    dw_live_session_free(session);
    free(snapshot);
}
END_TEST

START_TEST(what_was_heard_outlives_the_program_until_it_is_dropped)
{
    DwMessage message = {""};
    DwInputs *inputs = dw_inputs_new(), *found = dw_inputs_new();
    ck_assert_int_eq(dw_inputs_set(inputs, "deck.speed", "45rpm", &message), DW_OK);
    char folder[] = "/tmp/live-heard-XXXXXX", *label = NULL;
    ck_assert_ptr_nonnull(mkdtemp(folder));
    DwLiveSnapshot *snapshot = calloc(1, sizeof *snapshot);
    DwLiveSession *session = dw_live_session_new();
    DwLiveStart start = {.input = "tone",
                         .inputs = inputs,
                         .folder = folder,
                         .keep_s = 60,
                         .name = "heard",
                         .label = "Tone of the bench"};
    ck_assert_int_eq(dw_live_session_start(session, &start, &message), DW_OK);
    do
        dw_live_session_wait(session, snapshot->seq, 1000, snapshot);
    while (snapshot->position < 5 * 48000);
    ck_assert_int_eq(dw_live_session_drop(session, &message), DW_BAD_INPUT); // not while it runs
    dw_live_session_free(session);                                           // as if the program had ended
    session = dw_live_session_new();
    ck_assert_int_eq(dw_live_session_recall(session, folder, "heard", found, &label, &message), DW_OK);
    ck_assert_str_eq(label, "Tone of the bench");
    ck_assert_str_eq(dw_inputs_typed(found, "deck.speed"), "45rpm");
    dw_live_session_wait(session, 0, 0, snapshot);
    ck_assert_int_eq(snapshot->state, DW_LIVE_STOPPED);
    ck_assert_uint_ge(snapshot->position - snapshot->take_from, 5 * 48000);
    DwSheet *sheet = NULL;
    DwLiveKeep keep = {.last_s = NAN, .procedure = "speed", .inputs = inputs};
    ck_assert_msg(dw_live_session_keep(session, &keep, &sheet, &message) == DW_OK, "%s", message.text);
    const DwReading *error = dw_sheet_reading(sheet, "speed.error");
    ck_assert_ptr_nonnull(error); // the tone is 3150 Hz, whatever the speed is called
    dw_sheet_free(sheet);
    start.input = "no such input"; // what is held does not give way to nothing
    ck_assert_int_ne(dw_live_session_start(session, &start, &message), DW_OK);
    ck_assert_int_eq(dw_live_session_keep(session, &keep, &sheet, &message), DW_OK);
    dw_sheet_free(sheet);
    ck_assert_int_eq(dw_live_session_drop(session, &message), DW_OK);
    ck_assert_int_eq(dw_live_session_keep(session, &keep, &sheet, &message), DW_BAD_INPUT);
    ck_assert_int_eq(rmdir(folder), 0); // nothing is left
    free(label);
    label = NULL;
    ck_assert_int_eq(dw_live_session_recall(session, folder, "heard", found, &label, &message), DW_OK);
    ck_assert_ptr_null(label);
    dw_live_session_free(session);
    dw_inputs_free(inputs);
    dw_inputs_free(found);
    free(snapshot);
}
END_TEST

DW_SUITE("live session", what_was_heard_outlives_the_program_until_it_is_dropped, the_test_tone_is_measured_and_shared,
         what_is_kept_is_what_the_file_gives, a_hole_under_12_ms_moves_nothing,
         the_last_seconds_and_a_frozen_moment_can_be_kept, what_cannot_be_is_refused,
         a_take_keeps_its_last_seconds_exactly, the_json_says_what_the_snapshot_says)
