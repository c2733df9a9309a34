// SPDX-License-Identifier: MIT
// live-watch INPUT SECONDS [RECORDING]: measures INPUT live for SECONDS and until the end of its standard input;
// prints, on one line each, every change of its state, and what stands five times a second and at the end; keeps what
// was taken and its speed sheet, and the sheet of what was taken before the device was away last. live-watch list:
// names the inputs. live-watch look SECONDS: their levels, a line each tenth of a second. What
// tests/procedure/live_server.py drives.
#include "audio/live.h"
#include "base/json_text.h"
#include "base/sheet_json.h"
#include "procedure/live/live_inputs.h"
#include "procedure/live/live_json.h"
#include "procedure/live/live_session.h"

#include <math.h>
#include <poll.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static int list(void)
{
    DwLiveList inputs;
    DwMessage message;
    if (dw_live_list(&inputs, &message) != DW_OK) {
        puts(message.text);
        return 1;
    }
    for (size_t i = 0; i < inputs.count; i++)
        printf("%s\t%s\n", inputs.inputs[i].name, inputs.inputs[i].label);
    dw_live_list_clear(&inputs);
    return 0;
}

static int look(double seconds)
{
    DwLiveInputs *inputs = dw_live_inputs_new();
    for (double until = now() + seconds; now() < until;) {
        DwLiveInputsLook seen;
        DwMessage message;
        if (dw_live_inputs_look(inputs, DW_LIVE_LOOK_LEVELS, &seen, &message) != DW_OK)
            puts(message.text);
        char *json = dw_live_inputs_json(&seen);
        puts(json);
        free(json);
        fflush(stdout);
        dw_live_inputs_look_clear(&seen);
        nanosleep(&(struct timespec){.tv_nsec = 100000000}, NULL);
    }
    dw_live_inputs_free(inputs);
    return 0;
}

// Whether who started it has closed the standard input.
static bool is_dismissed(void)
{
    struct pollfd given = {.fd = STDIN_FILENO, .events = POLLIN};
    char word;
    return poll(&given, 1, 0) > 0 && read(STDIN_FILENO, &word, 1) <= 0;
}

static void watch(DwLiveSession *session, double until)
{
    static const double EACH_S = 0.2;
    DwLiveSnapshot *snapshot = calloc(1, sizeof *snapshot);
    int state = -1, trouble = -1;
    double lost = 0, told = 0;
    uint64_t seq = 0;
    bool is_over = false;
    while (now() < until || !is_over) {
        is_over = is_over || is_dismissed();
        dw_live_session_wait(session, seq, 100, snapshot);
        seq = snapshot->seq;
        if ((int)snapshot->state == state && (int)snapshot->figures.trouble == trouble && snapshot->lost_s == lost &&
            now() < told + EACH_S)
            continue;
        told = now();
        state = (int)snapshot->state;
        trouble = (int)snapshot->figures.trouble;
        lost = snapshot->lost_s;
        char *json = dw_live_snapshot_json(snapshot, UINT64_MAX);
        puts(json);
        free(json);
        fflush(stdout);
    }
    char *json = dw_live_snapshot_json(snapshot, UINT64_MAX);
    puts(json);
    free(json);
    free(snapshot);
}

// {"KEY": "TEXT", "after_s": …}; the text may hold marks of quotation.
static void print_word(const char *key, const char *text, double after_s)
{
    DwJsonText json = {0};
    dw_json_text_begin(&json, NULL, '{');
    dw_json_text_word(&json, key, text);
    dw_json_text_number(&json, "after_s", after_s, 2);
    dw_json_text_end(&json, '}');
    char *line = dw_json_text_take(&json);
    puts(line);
    free(line);
}

static void keep_one(DwLiveSession *session, const DwLiveKeep *keep)
{
    DwSheet *sheet = NULL;
    DwMessage message;
    if (dw_live_session_keep(session, keep, &sheet, &message) != DW_OK)
        print_word("not_kept", message.text, 0);
    char *json = sheet ? dw_sheet_json_write(sheet) : NULL;
    if (json)
        puts(json);
    free(json);
    dw_sheet_free(sheet);
}

// The newest stretch, then the one before it.
static void keep_all(DwLiveSession *session, const DwInputs *inputs, const char *path)
{
    DwLiveSnapshot *snapshot = calloc(1, sizeof *snapshot);
    dw_live_session_wait(session, 0, 0, snapshot);
    keep_one(session, &(DwLiveKeep){.last_s = NAN, .procedure = "speed", .inputs = inputs, .path = path});
    if (snapshot->stretches)
        keep_one(session, &(DwLiveKeep){
                              .last_s = NAN, .procedure = "speed", .inputs = inputs, .until = snapshot->stretch[0].to});
    free(snapshot);
}

int main(int count, char **words)
{
    if (count == 2 && strcmp(words[1], "list") == 0)
        return list();
    if (count == 3 && strcmp(words[1], "look") == 0)
        return look(atof(words[2]));
    if (count < 3)
        return 2;
    DwInputs *inputs = dw_inputs_new();
    DwMessage message;
    if (dw_inputs_set(inputs, "record.tone", "3150Hz", &message) != DW_OK)
        return 2;
    DwLiveSession *session = dw_live_session_new();
    DwLiveStart start = {.input = words[1], .inputs = inputs, .keep_s = 600};
    double begun = now();
    if (dw_live_session_start(session, &start, &message) != DW_OK) {
        print_word("refused", message.text, now() - begun);
        dw_live_session_free(session);
        dw_inputs_free(inputs);
        return 1;
    }
    watch(session, now() + atof(words[2]));
    if (count > 3)
        keep_all(session, inputs, words[3]);
    dw_live_session_stop(session);
    dw_live_session_free(session);
    dw_inputs_free(inputs);
    return 0;
}
