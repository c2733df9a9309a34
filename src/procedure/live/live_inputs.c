// SPDX-License-Identifier: MIT
#include "procedure/live/live_inputs.h"

#include "audio/input_levels.h"
#include "audio/live.h"
#include "base/json_text.h"
#include "base/memory.h"
#include "measure/live/knock_watch.h"
#include "procedure/live/live_clock.h"

#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

// The thread ends when nobody has looked for so long; what is plugged in is listed anew so often.
static const double REST_AFTER_S = 6, LISTED_EACH_S = 2, TURN_S = 0.08, LEVELS_WITHIN_S = 1, OLD_S = 1;
// A server that is well lists its inputs sooner; the first time the parts for sound are looked up as well.
static const double AT_ONCE_S = 0.15, FIRST_S = 3;
static const double QUIETEST_DB = -120; // told of silence, which has no number

typedef struct {
    char name[320];
    DwKnockWatch watch;
    double heard_s; // when peaks came last
    bool is_there;
} Listened;

struct DwLiveInputs {
    pthread_mutex_t lock; // for all below
    pthread_cond_t changed;
    pthread_t thread;
    bool has_thread, is_over, stop; // is_over: the thread has ended and only wants to be joined
    unsigned waiting;               // who looks and has no answer yet
    double looked_s;                // when somebody looked last
    double told_s;                  // when levels were told last
    bool is_listed, has_levels;     // since the thread began
    DwStatus status;                // of listing
    DwMessage message;
    DwLiveInputsLook now;
};

// What the thread alone touches.
typedef struct {
    DwInputLevels *levels;
    Listened heard[DW_INPUT_LEVELS_MOST];
    size_t heard_count;
    double listed_s, begun_s;
} Monitor;

DwLiveInputs *dw_live_inputs_new(void)
{
    DwLiveInputs *inputs = dw_memory_new(1, sizeof *inputs);
    pthread_condattr_t monotonic;
    pthread_condattr_init(&monotonic);
    pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
    pthread_mutex_init(&inputs->lock, NULL);
    pthread_cond_init(&inputs->changed, &monotonic);
    pthread_condattr_destroy(&monotonic);
    return inputs;
}

void dw_live_inputs_free(DwLiveInputs *inputs)
{
    if (!inputs)
        return;
    pthread_mutex_lock(&inputs->lock);
    inputs->stop = true;
    pthread_mutex_unlock(&inputs->lock);
    if (inputs->has_thread)
        pthread_join(inputs->thread, NULL);
    dw_live_inputs_look_clear(&inputs->now);
    pthread_cond_destroy(&inputs->changed);
    pthread_mutex_destroy(&inputs->lock);
    free(inputs);
}

void dw_live_inputs_look_clear(DwLiveInputsLook *look)
{
    free(look->inputs);
    *look = (DwLiveInputsLook){0};
}

// --- the thread -----------------------------------------------------------------------

static Listened *listened(Monitor *monitor, const char *name)
{
    for (size_t i = 0; i < monitor->heard_count; i++)
        if (strcmp(monitor->heard[i].name, name) == 0)
            return &monitor->heard[i];
    return NULL;
}

// An input that ceases to tell begins anew: its level is not of now.
static void hear(Listened *heard, const DwInputPeaks *peaks)
{
    double now_s = dw_live_clock_now();
    if (peaks->count > 0)
        heard->heard_s = now_s;
    else if (now_s - heard->heard_s > OLD_S)
        heard->watch = (DwKnockWatch){0};
    dw_knock_watch_push(&heard->watch, peaks->peaks, peaks->count);
}

// Takes what came since the last turn; what is no longer listened to is forgotten.
static void take_levels(Monitor *monitor)
{
    for (size_t i = 0; i < monitor->heard_count; i++)
        monitor->heard[i].is_there = false;
    for (size_t i = 0; monitor->levels && i < dw_input_levels_count(monitor->levels); i++) {
        DwInputPeaks peaks = dw_input_levels_at(monitor->levels, i);
        Listened *heard = listened(monitor, peaks.name);
        if (!heard)
            continue;
        hear(heard, &peaks);
        heard->is_there = true;
    }
    size_t kept = 0;
    for (size_t i = 0; i < monitor->heard_count; i++)
        if (monitor->heard[i].is_there)
            monitor->heard[kept++] = monitor->heard[i];
    monitor->heard_count = kept;
    for (size_t i = 0; monitor->levels && i < dw_input_levels_count(monitor->levels); i++) {
        DwInputPeaks peaks = dw_input_levels_at(monitor->levels, i);
        if (listened(monitor, peaks.name) || monitor->heard_count == DW_INPUT_LEVELS_MOST)
            continue;
        Listened *heard = &monitor->heard[monitor->heard_count++];
        *heard = (Listened){.is_there = true};
        snprintf(heard->name, sizeof heard->name, "%s", peaks.name);
        hear(heard, &peaks);
    }
}

// What was heard of an input in OLD holds in LOOK until more is heard.
static void keep_levels(const DwLiveInputsLook *old, DwLiveInputsLook *look)
{
    for (size_t i = 0; i < look->count; i++)
        for (size_t k = 0; k < old->count; k++)
            if (strcmp(old->inputs[k].name, look->inputs[i].name) == 0) {
                look->inputs[i].level_db = old->inputs[k].level_db;
                look->inputs[i].has_moved = old->inputs[k].has_moved;
            }
}

// Lists the inputs anew. Without a lock: it may take as long as a server does.
static void list_inputs(DwLiveInputs *inputs)
{
    DwLiveList list;
    DwMessage message = {""};
    DwLiveInputsLook look = {0};
    DwStatus status = dw_live_list(&list, &message);
    look.inputs = dw_memory_new(list.count + 1, sizeof *look.inputs);
    for (size_t i = 0; i < list.count; i++) {
        DwLiveInputLook *input = &look.inputs[look.count++];
        *input = (DwLiveInputLook){.is_monitor = list.inputs[i].is_monitor, .is_device = i > 0, .level_db = NAN};
        snprintf(input->name, sizeof input->name, "%s", list.inputs[i].name);
        snprintf(input->label, sizeof input->label, "%s", list.inputs[i].label);
    }
    look.server_is_silent = list.server_is_silent;
    dw_live_list_clear(&list);
    pthread_mutex_lock(&inputs->lock);
    if (look.server_is_silent && inputs->now.count > look.count) { // what it had is known
        dw_live_inputs_look_clear(&look);
        inputs->now.server_is_silent = true;
    } else {
        keep_levels(&inputs->now, &look);
        dw_live_inputs_look_clear(&inputs->now);
        inputs->now = look;
    }
    inputs->status = status;
    inputs->message = message;
    inputs->is_listed = true;
    pthread_cond_broadcast(&inputs->changed);
    pthread_mutex_unlock(&inputs->lock);
}

// With the lock taken.
static bool is_played(const DwLiveInputs *inputs, const char *name)
{
    for (size_t i = 0; i < inputs->now.count; i++)
        if (strcmp(inputs->now.inputs[i].name, name) == 0)
            return inputs->now.inputs[i].is_monitor;
    return false;
}

static void publish(DwLiveInputs *inputs, Monitor *monitor)
{
    double heights[DW_INPUT_LEVELS_MOST];
    bool all = monitor->heard_count > 0;
    pthread_mutex_lock(&inputs->lock);
    for (size_t i = 0; i < monitor->heard_count; i++) // what the computer plays has no needle
        heights[i] = is_played(inputs, monitor->heard[i].name) ? 0 : dw_knock_watch_height_db(&monitor->heard[i].watch);
    size_t which = dw_knock_watch_which(heights, monitor->heard_count);
    for (size_t i = 0; i < inputs->now.count; i++) {
        DwLiveInputLook *input = &inputs->now.inputs[i];
        Listened *heard = listened(monitor, input->name);
        input->level_db = heard ? dw_knock_watch_level_db(&heard->watch) : (double)NAN;
        input->has_moved = heard && which < monitor->heard_count && heard == &monitor->heard[which];
        all = all && (!heard || !isnan(input->level_db));
    }
    inputs->told_s = dw_live_clock_now();
    inputs->has_levels =
        inputs->has_levels || all || !monitor->levels || dw_live_clock_now() - monitor->begun_s > LEVELS_WITHIN_S;
    pthread_cond_broadcast(&inputs->changed);
    pthread_mutex_unlock(&inputs->lock);
}

// Whether somebody still looks. Returned: false when the thread is to end; it is over then.
static bool goes_on(DwLiveInputs *inputs)
{
    pthread_mutex_lock(&inputs->lock);
    bool goes = !inputs->stop && (inputs->waiting || dw_live_clock_now() - inputs->looked_s < REST_AFTER_S);
    inputs->is_over = !goes;
    pthread_mutex_unlock(&inputs->lock);
    return goes;
}

static void *run(void *opaque)
{
    DwLiveInputs *inputs = opaque;
    Monitor *monitor = dw_memory_new(1, sizeof *monitor);
    monitor->begun_s = dw_live_clock_now();
    while (goes_on(inputs)) {
        if (!monitor->listed_s || dw_live_clock_now() - monitor->listed_s > LISTED_EACH_S) {
            list_inputs(inputs);
            monitor->listed_s = dw_live_clock_now();
            if (!monitor->levels)
                monitor->levels = dw_input_levels_open();
        }
        if (monitor->levels && !dw_input_levels_turn(monitor->levels, TURN_S)) {
            dw_input_levels_close(monitor->levels);
            monitor->levels = NULL;
        }
        take_levels(monitor);
        publish(inputs, monitor);
        const struct timespec moment = {.tv_nsec = (long)(TURN_S * 1e9)};
        if (!monitor->levels)
            nanosleep(&moment, NULL);
    }
    dw_input_levels_close(monitor->levels);
    free(monitor);
    return NULL;
}

// --- looking ---------------------------------------------------------------------------

// With the lock taken.
static bool begin(DwLiveInputs *inputs)
{
    if (inputs->has_thread && !inputs->is_over)
        return true;
    if (inputs->has_thread)
        pthread_join(inputs->thread, NULL); // it takes no lock any more
    inputs->is_over = inputs->is_listed = inputs->has_levels = false;
    for (size_t i = 0; i < inputs->now.count; i++) { // long past
        inputs->now.inputs[i].level_db = NAN;
        inputs->now.inputs[i].has_moved = false;
    }
    inputs->has_thread = pthread_create(&inputs->thread, NULL, run, inputs) == 0;
    return inputs->has_thread;
}

// Waits until there is WHAT is looked for. With the lock taken.
static void wait_for(DwLiveInputs *inputs, DwLiveLookFor what)
{
    struct timespec until;
    clock_gettime(CLOCK_MONOTONIC, &until);
    double wait_s = (double)until.tv_nsec * 1e-9 + (inputs->now.count ? AT_ONCE_S : FIRST_S);
    until.tv_sec += (time_t)wait_s;
    until.tv_nsec = (long)((wait_s - floor(wait_s)) * 1e9);
    while (!inputs->is_listed || (what == DW_LIVE_LOOK_LEVELS && !inputs->has_levels))
        if (what != DW_LIVE_LOOK_AT_ONCE)
            pthread_cond_wait(&inputs->changed, &inputs->lock);
        else if (pthread_cond_timedwait(&inputs->changed, &inputs->lock, &until) != 0)
            return;
}

DwStatus dw_live_inputs_look(DwLiveInputs *inputs, DwLiveLookFor what, DwLiveInputsLook *look, DwMessage *message)
{
    *look = (DwLiveInputsLook){0};
    pthread_mutex_lock(&inputs->lock);
    inputs->looked_s = dw_live_clock_now();
    bool runs = begin(inputs);
    inputs->waiting++;
    if (runs)
        wait_for(inputs, what);
    inputs->waiting--;
    inputs->looked_s = dw_live_clock_now();
    DwStatus status = runs ? inputs->status : DW_FAILED;
    if (status == DW_OK) {
        look->count = inputs->now.count;
        look->server_is_silent = inputs->now.server_is_silent;
        look->inputs = dw_memory_new(look->count + 1, sizeof *look->inputs);
        if (look->count > 0)
            memcpy(look->inputs, inputs->now.inputs, look->count * sizeof *look->inputs);
        for (size_t i = 0; dw_live_clock_now() - inputs->told_s > OLD_S && i < look->count; i++) {
            look->inputs[i].level_db = NAN; // the thread waits for a server: what it told last is not of now
            look->inputs[i].has_moved = false;
        }
    } else if (runs)
        *message = inputs->message;
    pthread_mutex_unlock(&inputs->lock);
    return runs ? status : dw_fail(message, status, "No thread could be started. Close other programs and try again.");
}

char *dw_live_inputs_json(const DwLiveInputsLook *look)
{
    DwJsonText json = {0};
    dw_json_text_begin(&json, NULL, '{');
    dw_json_text_begin(&json, "inputs", '[');
    for (size_t i = 0; i < look->count; i++) {
        const DwLiveInputLook *input = &look->inputs[i];
        dw_json_text_begin(&json, NULL, '{');
        dw_json_text_word(&json, "name", input->name);
        dw_json_text_word(&json, "label", input->label);
        dw_json_text_flag(&json, "monitor", input->is_monitor);
        dw_json_text_flag(&json, "device", input->is_device);
        dw_json_text_number(&json, "level_db", isnan(input->level_db) ? NAN : fmax(input->level_db, QUIETEST_DB), 1);
        dw_json_text_flag(&json, "moved", input->has_moved);
        dw_json_text_end(&json, '}');
    }
    dw_json_text_end(&json, ']');
    dw_json_text_end(&json, '}');
    return dw_json_text_take(&json);
}
