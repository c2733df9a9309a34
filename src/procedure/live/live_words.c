// SPDX-License-Identifier: MIT
#include "procedure/live/live_words.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "base/usual_speed.h"
#include "procedure/live/live_clock.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

static const double STALL_S = 0.3; // without samples as long as this, nothing is of now

// Whether the clock error may be kept for good.
static void judge_clock(DwLiveClock *clock, double own_ppm)
{
    static const double LEAST_S = 120, FAR_PPM = 1000, CLOSE_PPM = 20, DISCIPLINED_PPM = 2;
    size_t size = sizeof clock->why;
    clock->is_sure = false;
    if (fabs(clock->error_ppm) > FAR_PPM)
        dw_say_into(
            clock->why, size,
            "No sound device is so far off: sound was lost, or the device is not what it says. It is not kept.");
    else if (clock->over_s < LEAST_S)
        dw_say_into(clock->why, size, "It can be kept after %.0f s without a gap.", LEAST_S);
    else if (own_ppm > DISCIPLINED_PPM)
        dw_say_into(clock->why, size,
                    "No time server disciplines the computer's clock: it may be %.0f ppm off, so it is not kept.",
                    own_ppm);
    else if (clock->off_ppm >= CLOSE_PPM)
        dw_say_into(clock->why, size, "It is not sure enough yet: it is kept once it is within %.0f ppm.", CLOSE_PPM);
    else
        clock->is_sure = true;
}

void dw_live_words_clock(const DwClockCheck *check, bool is_device, DwLiveClock *clock)
{
    DwClockReading reading;
    *clock = (DwLiveClock){.error_ppm = NAN, .off_ppm = NAN, .over_s = NAN};
    if (!is_device)
        dw_say_into(clock->why, sizeof clock->why,
                    "This input runs by the computer's own clock: there is nothing to check.");
    else if (!dw_clock_check_read(check, &reading))
        dw_say_into(clock->why, sizeof clock->why, "Not yet: it takes 20 s at least, and minutes to be sure.");
    else {
        double own = dw_live_clock_off_ppm();
        *clock = (DwLiveClock){
            .error_ppm = reading.error_ppm, .off_ppm = hypot(reading.off_ppm, own), .over_s = reading.over_s};
        judge_clock(clock, own);
    }
}

// Says what the tone tells when it belongs to another speed than is set. Returned: whether it does.
static bool tell_other_speed(const DwLiveFigures *figures, char *words, size_t size)
{
    static const double WITHIN = 0.06;
    double turns = figures->speed_rpm * figures->tone_hz / figures->engraved_hz;
    if (figures->fit != DW_TONE_OTHER_SPEED || figures->trouble > DW_LIVE_FOREIGN || !isfinite(turns))
        return false;
    const DwUsualSpeed *usual = dw_usual_speed_near(turns, WITHIN);
    if (usual)
        dw_say_into(words, size,
                    "The platter turns at about %.1f rpm: the deck stands at %s, not at the speed that is set here. "
                    "Set one of them right.",
                    turns, usual->plain);
    else
        dw_say_into(words, size, "The platter turns at about %.1f rpm, far from the %.4g that is set here.", turns,
                    figures->speed_rpm);
    return true;
}

static DwSaying __attribute__((format(printf, 1, 2))) say(const char *pattern, ...)
{
    va_list arguments;
    va_start(arguments, pattern);
    DwSaying saying = dw_saying_make(pattern, arguments);
    va_end(arguments);
    return saying;
}

DwSaying dw_live_words_way_in(const DwSourceOrigin *origin)
{
    static const double TOUCHED_DB = 0.05;
    if (origin->is_muted)
        return say("The input is muted in the computer's sound settings. Switch it on there.");
    if (origin->uneven_db > TOUCHED_DB)
        return say("The computer's sound settings change the channels of this input differently, one by %+.1f dB. Set "
                   "each to 0 dB (100 %%), or levels, balance and separation are wrong.",
                   origin->gain_db);
    if (isfinite(origin->gain_db) && fabs(origin->gain_db) > TOUCHED_DB)
        return say("The computer's sound settings change the level of this input by %+.1f dB. Set it to 0 dB "
                   "(100 %%), or levels read by so much.",
                   origin->gain_db);
    return (DwSaying){0};
}

void dw_live_words_origin(const DwSourceOrigin *origin, DwLiveSnapshot *snapshot)
{
    char *words = snapshot->remark;
    size_t size = sizeof snapshot->remark;
    snapshot->origin = origin ? *origin : (DwSourceOrigin){0};
    DwSaying way_in = dw_live_words_way_in(&snapshot->origin);
    char *said = way_in.text ? dw_say_saying(&way_in) : dw_memory_text("");
    snprintf(words, size, "%.*s", dw_text_whole(said, (int)size - 1), said);
    free(said);
    dw_saying_clear(&way_in);
    if (*words || tell_other_speed(&snapshot->figures, words, size))
        return;
    if (snapshot->lost_s > 0)
        dw_say_into(words, size, "%.2f s of sound were lost since the start.", snapshot->lost_s);
}

static void make_stale(DwLiveFigures *figures, double since_s, const char *why)
{
    figures->trouble = DW_LIVE_WAITING;
    figures->steady_s = 0;
    figures->sided = false;
    snprintf(figures->why, sizeof figures->why, "%s", why);
    for (size_t i = 0; i < DW_LIVE_FIGURES; i++) {
        DwLiveFigure *figure = &figures->figure[i];
        figure->stale = true;
        figure->age_s += since_s;
        snprintf(figure->why, sizeof figure->why, "%s", figures->why);
    }
}

void dw_live_words_back(DwLiveFigures *figures, double away_s)
{
    make_stale(figures, away_s, dw_said("The input is back. Its figures follow once its sound has been measured."));
}

void dw_live_words_age(DwLiveSnapshot *snapshot)
{
    char why[sizeof snapshot->figures.why];
    if (snapshot->state != DW_LIVE_RUNNING)
        make_stale(&snapshot->figures, snapshot->since_samples_s, snapshot->why);
    else if (snapshot->since_samples_s > STALL_S) {
        dw_say_into(why, sizeof why, "No samples have come for %.1f s. Is the device still plugged in?",
                    snapshot->since_samples_s);
        make_stale(&snapshot->figures, snapshot->since_samples_s, why);
    }
}
