// SPDX-License-Identifier: MIT
// bench-live-day [HOURS [RATE [TONE]]]: a live input for HOURS (24) at RATE (8000 Hz) under a faster clock: the
// session, its meter, take and watches as they are, fed as fast as the machine allows by a device that is made here and
// by a clock that goes with it. In the last TONE seconds (180) of each hour a tone plays, 0.4 % fast, else hiss; the
// device's clock is 40 ppm fast; each ten minutes 0.3 s of sound are lost, each hour the device is away for 5 s.
// Prints memory and descriptors each hour, and what was measured.
#include "audio/driver.h"
#include "audio/live.h"
#include "base/memory.h"
#include "procedure/live/live_clock.h"
#include "procedure/live/live_session.h"

#include <dirent.h>
#include <math.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

static const double TONE_HZ = 3150 * 1.004, FAST_PPM = 40, LOST_S = 0.3, AWAY_S = 5;
static const double LOST_EACH_S = 600, AWAY_EACH_S = 3600;

// The clock and the device; of the capture thread, but for the time.
static struct {
    double rate_hz, tone_s, lost_at_s, away_at_s;
    _Atomic double now_s;
    bool is_away, was_away;
    uint64_t frames;
} world = {.rate_hz = 8000, .tone_s = 180, .lost_at_s = 300, .away_at_s = 1800};

// --- what stands in for the computer's clock and its devices -------------------------

double dw_live_clock_now(void)
{
    if (world.is_away) // nothing else moves it then
        world.now_s = world.now_s + 0.05;
    return world.now_s;
}

double dw_live_clock_off_ppm(void)
{
    return 1;
}

static DwStatus read_made(DwSource *source, float *interleaved, size_t frames, size_t *got, unsigned *flags,
                          DwMessage *message)
{
    (void)source;
    *flags = 0;
    *got = 0;
    if (world.now_s > world.away_at_s) {
        world.away_at_s += AWAY_EACH_S;
        world.is_away = true;
        return dw_fail(message, DW_FAILED, "The input was unplugged or taken away.");
    }
    double real_hz = world.rate_hz * (1 + FAST_PPM * 1e-6);
    if (world.now_s > world.lost_at_s) {
        world.lost_at_s += LOST_EACH_S;
        world.frames += (uint64_t)(LOST_S * world.rate_hz);
        world.now_s = world.now_s + LOST_S;
    }
    bool plays = fmod(world.now_s, 3600) > 3600 - world.tone_s;
    static uint32_t seed = 1;
    for (size_t i = 0; i < frames; i++, world.frames++) {
        seed = seed * 1664525u + 1013904223u; // Source (published): from memory, Numerical Recipes' quick generator
        float hiss = 0.001F * ((float)(seed >> 8) / (float)(1 << 23) - 1);
        double turns = fmod(TONE_HZ / world.rate_hz * (double)world.frames, 1);
        float sample = plays ? (float)(0.25 * sin(2 * M_PI * turns)) : hiss;
        interleaved[2 * i] = interleaved[2 * i + 1] = sample;
    }
    world.now_s = world.now_s + (double)frames / real_hz;
    *got = frames;
    return DW_OK;
}

static void close_made(void *state)
{
    free(state);
}

static const DwDriver made = {read_made, close_made, NULL};

DwStatus dw_live_open(const char *name, double rate_hz, DwSource **source, DwMessage *message)
{
    (void)name;
    (void)rate_hz;
    static double away_since_s;
    if (world.is_away && !world.was_away)
        away_since_s = world.now_s;
    world.was_away = world.is_away;
    if (world.is_away && world.now_s < away_since_s + AWAY_S)
        return dw_fail(message, DW_BAD_INPUT, "It is away.");
    world.is_away = world.was_away = false;
    DwSourceFacts facts = {.rate_hz = world.rate_hz, .channels = 2, .frames = -1, .format = "made"};
    *source = dw_source_new(&made, dw_memory_new(1, 1), &facts);
    return DW_OK;
}

DwStatus dw_live_list(DwLiveList *list, DwMessage *message)
{
    (void)message;
    *list = (DwLiveList){0};
    return DW_OK;
}

void dw_live_list_clear(DwLiveList *list)
{
    *list = (DwLiveList){0};
}

// --- what is printed -------------------------------------------------------------------

static long resident_kb(void)
{
    long pages = 0, resident = 0;
    FILE *file = fopen("/proc/self/statm", "r");
    if (file && fscanf(file, "%ld %ld", &pages, &resident) != 2)
        resident = 0;
    if (file)
        fclose(file);
    return resident * (sysconf(_SC_PAGESIZE) / 1024);
}

static size_t descriptors(void)
{
    size_t count = 0;
    DIR *folder = opendir("/proc/self/fd");
    while (folder && readdir(folder))
        count++;
    if (folder)
        closedir(folder);
    return count;
}

static void print_hour(const DwLiveSnapshot *snapshot, double hour, double speed)
{
    printf("%5.1f h  %7ld kB  %3zu descriptors  speed %+.4f %%  lost %6.2f s  clock %+6.1f ± %.1f ppm\n", hour,
           resident_kb(), descriptors(), speed, snapshot->lost_s, snapshot->clock.error_ppm, snapshot->clock.off_ppm);
    fflush(stdout);
}

static void print_sheet(DwLiveSession *session, const DwInputs *inputs)
{
    DwSheet *sheet = NULL;
    DwMessage message;
    DwLiveKeep keep = {.last_s = 60, .procedure = "speed", .inputs = inputs};
    if (dw_live_session_keep(session, &keep, &sheet, &message) != DW_OK)
        printf("not kept: %s\n", message.text);
    else
        printf("kept at the end: speed %+.4f %%\n", dw_sheet_reading(sheet, "speed.error")->value);
    dw_sheet_free(sheet);
}

int main(int count, char **words)
{
    double hours = count > 1 ? atof(words[1]) : 24;
    world.rate_hz = count > 2 ? atof(words[2]) : world.rate_hz;
    world.tone_s = count > 3 ? atof(words[3]) : world.tone_s;
    DwInputs *inputs = dw_inputs_new();
    DwMessage message;
    dw_inputs_set(inputs, "record.tone", "3150Hz", &message);
    DwLiveSession *session = dw_live_session_new();
    DwLiveSnapshot *snapshot = calloc(1, sizeof *snapshot);
    DwLiveStart start = {.input = "device:made", .inputs = inputs, .keep_s = 1200};
    if (dw_live_session_start(session, &start, &message) != DW_OK) {
        puts(message.text);
        return 1;
    }
    double speed = NAN, step = hours > 1 ? 1 : hours / 4;
    for (double hour = step; hour <= hours + 1e-9;) {
        nanosleep(&(struct timespec){.tv_nsec = 20000000}, NULL);
        dw_live_session_wait(session, 0, 0, snapshot);
        const DwLiveFigure *figure = &snapshot->figures.figure[DW_LIVE_SPEED_ERROR];
        speed = figure->stale ? speed : figure->value;
        if (world.now_s < 3600 * hour)
            continue;
        print_hour(snapshot, hour, speed);
        hour += step;
    }
    dw_live_session_stop(session);
    print_sheet(session, inputs);
    dw_live_session_free(session);
    dw_inputs_free(inputs);
    free(snapshot);
    return 0;
}
