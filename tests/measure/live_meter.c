// SPDX-License-Identifier: MIT
// The live meter on signals with known truth, against the measurement of files,
// and over an hour.
#include "measure/live/live_meter.h"

#include "support/alike.h"
#include "support/band_signal.h"
#include "support/play.h"
#include "support/suite.h"

#include <malloc.h>
#include <stdio.h>
#include <string.h>

static const double PPM = 1e-4; // in per cent

static DwLiveMeter *new_meter(double rate_hz, unsigned channels)
{
    DwLiveMeterSettings settings = dw_live_meter_settings(rate_hz, channels);
    return dw_live_meter_new(&settings);
}

// Feeds the whole of SYNTH in blocks of BLOCK frames.
static void feed(DwLiveMeter *meter, DwSynth *synth, size_t block)
{
    float *samples = calloc(block * 2, sizeof *samples);
    for (size_t got; (got = dw_synth_read(synth, samples, block)) > 0;)
        dw_live_meter_push(meter, samples, got);
    free(samples);
}

// A meter that was fed with what OPERANDS describe.
static DwLiveMeter *meter_of(const char *const *operands)
{
    DwSynth *synth = play_open(operands);
    DwLiveMeter *meter = new_meter(dw_synth_rate(synth), (unsigned)dw_synth_channels(synth));
    feed(meter, synth, 480);
    dw_synth_free(synth);
    return meter;
}

static const DwLiveFigure *figure(const DwLiveMeter *meter, DwLiveFigureName name)
{
    return &dw_live_meter_figures(meter)->figure[name];
}

static double fresh(const DwLiveMeter *meter, DwLiveFigureName name)
{
    const DwLiveFigure *found = figure(meter, name);
    ck_assert_msg(!found->stale, "%s is stale: %s", dw_live_figure_kind(name)->key, found->why);
    return found->value;
}

static void push_silence(DwLiveMeter *meter, size_t frames)
{
    float *silence = calloc(frames * 2, sizeof *silence);
    dw_live_meter_push(meter, silence, frames);
    free(silence);
}

START_TEST(settled_speed_is_right_within_five_ppm)
{
    DwLiveMeter *meter = meter_of((const char *const[]){"fault.speed_error=-0.37%", "fault.wow=0.2%", "synth.snr=50dB",
                                                        "synth.length=31.4s", NULL});
    ck_assert_double_eq_tol(fresh(meter, DW_LIVE_SPEED_ERROR), -0.37, 5 * PPM);
    ck_assert_double_eq_tol(fresh(meter, DW_LIVE_SPEED_MEAN), 100.0 / 3 * 0.9963, 5e-6 * 34);
    ck_assert_double_eq_tol(fresh(meter, DW_LIVE_SPEED_TURN), -0.37, 30 * PPM); // a turn takes the wow out
    ck_assert_double_eq_tol(fresh(meter, DW_LIVE_ONCE_A_TURN), 0.2, 0.001);
    ck_assert_double_eq(dw_live_meter_figures(meter)->engraved_hz, 3150);
    ck_assert_int_eq(dw_live_meter_figures(meter)->trouble, DW_LIVE_GOOD);
    dw_live_meter_free(meter);
}
END_TEST

START_TEST(the_speed_of_now_follows_the_wow)
{
    // 0.5 % at 0.1 Hz: within a tenth of a second it hardly turns.
    DwSynth *synth =
        play_open((const char *const[]){"synth.channels=1", "fault.line=0.1Hz:0.5%", "synth.length=20s", NULL});
    DwLiveMeter *meter = new_meter(48000, 1);
    float samples[2400];
    for (size_t i = 1; dw_synth_read(synth, samples, 2400) > 0; i++) {
        dw_live_meter_push(meter, samples, 2400);
        if (i < 40)
            continue;
        // The window's middle lies half of it and the demodulator's delay back.
        double truth = dw_synth_deviation(synth, (double)i * 0.05 - 0.07);
        ck_assert_double_eq_tol(fresh(meter, DW_LIVE_SPEED_NOW), truth, 0.006);
    }
    dw_synth_free(synth);
    dw_live_meter_free(meter);
}
END_TEST

START_TEST(flutter_is_that_of_the_file)
{
    static const char *const operands[] = {"fault.wow=0.15%",       "fault.line=6.3Hz:0.08%",
                                           "fault.line=33Hz:0.05%", "fault.flutter_noise=0.03%",
                                           "synth.length=29s",      NULL};
    static const struct {
        DwLiveFigureName name;
        double within;
    } rows[] = {{DW_LIVE_WEIGHTED_TWO_SIGMA, 0.02},
                {DW_LIVE_WEIGHTED_QUASI_PEAK, 0.02},
                {DW_LIVE_WEIGHTED_RMS, 0.01},
                {DW_LIVE_UNWEIGHTED_TWO_SIGMA, 0.02},
                {DW_LIVE_UNWEIGHTED_RMS, 0.01},
                {DW_LIVE_WOW, 0.02},
                {DW_LIVE_FLUTTER, 0.02}};
    DwSheet *sheet = play(operands, NAN);
    DwLiveMeter *meter = meter_of(operands);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const char *key = dw_live_figure_kind(rows[i].name)->key;
        double file = reading(sheet, key), live = fresh(meter, rows[i].name);
        ck_assert_msg(fabs(live / file - 1) <= rows[i].within, "%s: live %.5f, file %.5f", key, live, file);
    }
    dw_live_meter_free(meter);
    dw_sheet_free(sheet);
}
END_TEST

START_TEST(flutter_says_not_yet_until_three_turns_were_heard)
{
    DwSynth *synth = play_open((const char *const[]){"synth.channels=1", "synth.length=9s", NULL});
    DwLiveMeter *meter = new_meter(48000, 1);
    float samples[2400];
    for (size_t i = 1; dw_synth_read(synth, samples, 2400) > 0; i++) {
        dw_live_meter_push(meter, samples, 2400);
        const DwLiveFigure *flutter = figure(meter, DW_LIVE_WEIGHTED_TWO_SIGMA);
        if (i == 60) {
            ck_assert(flutter->stale && isnan(flutter->value));
            ck_assert_msg(strstr(flutter->why, "Not yet: 2 of 5.8 s"), "%s", flutter->why);
        }
        if ((double)i * 0.05 < 3 * 1.8)
            ck_assert(flutter->stale);
    }
    ck_assert(isfinite(fresh(meter, DW_LIVE_WEIGHTED_TWO_SIGMA)));
    ck_assert(isfinite(figure(meter, DW_LIVE_WEIGHTED_TWO_SIGMA)->uncertainty)); // and so is its ±
    dw_synth_free(synth);
    dw_live_meter_free(meter);
}
END_TEST

START_TEST(the_raster_stands_in_line_with_the_platter)
{
    // Wow once a turn, slow and drifting: rows counted by time would lean.
    DwLiveMeter *meter = meter_of((const char *const[]){"fault.wow=0.3%", "fault.wow_phase=40deg",
                                                        "fault.speed_error=-2%", "synth.length=40s", NULL});
    const DwLiveRaster *raster = dw_live_meter_raster(meter);
    ck_assert_uint_eq(raster->begun, 22); // 40 s · 0.98/1.8 s = 21.8
    double lead_s = -1;
    for (size_t turn = 1; turn + 1 < raster->begun; turn++) {
        double sine = 0, cosine = 0;
        for (size_t i = 0; i < DW_LIVE_CELLS; i++) {
            double angle = 2 * M_PI * ((double)i + 0.5) / DW_LIVE_CELLS, value = (double)raster->value[turn][i];
            ck_assert(isfinite(value));
            sine += value * sin(angle) * 2 / DW_LIVE_CELLS;
            cosine += value * cos(angle) * 2 / DW_LIVE_CELLS;
        }
        ck_assert_double_eq_tol(hypot(sine, cosine), 0.3, 0.002);
        double phase = atan2(cosine, sine) * 180 / M_PI;
        if (lead_s < 0)
            lead_s = phase;
        ck_assert_double_eq_tol(phase, lead_s, 0.5); // each row where the one above stands
        // The first value stands some 20 ms, 4°, behind the first sample.
        ck_assert(phase > 40 && phase < 47);
    }
    dw_live_meter_free(meter);
}
END_TEST

START_TEST(the_raster_keeps_the_last_turns)
{
    DwLiveRaster *raster = calloc(1, sizeof *raster);
    dw_live_raster_clear(raster);
    for (size_t i = 0; i < 1000 * 200; i++)
        dw_live_raster_push(raster, (double)(i / 1000), i % 1000 < 990, 1.0 / 1000);
    ck_assert_uint_eq(raster->begun, 200);
    ck_assert_uint_eq(dw_live_raster_first(raster), 80);
    for (uint64_t turn = 80; turn < 199; turn++) {
        const float *row = raster->value[turn % DW_LIVE_TURNS];
        ck_assert_double_eq((double)row[90], (double)turn);
        ck_assert(isnan(row[179])); // none of its values was used
    }
    free(raster);
}
END_TEST

START_TEST(a_dropout_is_told_within_150_ms)
{
    DwSynth *synth = play_open((const char *const[]){"synth.length=8s", NULL});
    DwLiveMeter *meter = new_meter(48000, 2);
    feed(meter, synth, 1000);
    ck_assert(!figure(meter, DW_LIVE_SPEED_NOW)->stale);
    double speed = figure(meter, DW_LIVE_SPEED_NOW)->value;
    push_silence(meter, 7200); // 150 ms
    const DwLiveFigures *figures = dw_live_meter_figures(meter);
    for (size_t i = 0; i < DW_LIVE_FIGURES; i++) {
        ck_assert_msg(figures->figure[i].stale, "%s", dw_live_figure_kind((DwLiveFigureName)i)->key);
        ck_assert_msg(strncmp(figures->figure[i].why, "No signal", 9) == 0, "%s", figures->figure[i].why);
    }
    ck_assert_int_eq(figures->trouble, DW_LIVE_SILENT);
    ck_assert_double_eq_tol(figures->figure[DW_LIVE_SPEED_NOW].value, speed, 0.1); // kept, to be greyed
    ck_assert_double_eq_tol(figures->figure[DW_LIVE_SPEED_NOW].age_s, 0.125, 0.03);
    push_silence(meter, 48000);
    ck_assert_double_eq_tol(figures->figure[DW_LIVE_SPEED_NOW].age_s, 1.125, 0.03);
    dw_synth_free(synth);
    dw_live_meter_free(meter);
}
END_TEST

START_TEST(a_lost_tone_is_told_from_silence_and_found_again)
{
    DwLiveMeter *meter = new_meter(48000, 2);
    DwSynth *synth = play_open((const char *const[]){"synth.length=8s", NULL});
    feed(meter, synth, 4800);
    dw_synth_free(synth);
    synth = play_open((const char *const[]){"synth.length=0.1s", "synth.lead_crackle=2s", "fault.rumble=-20dB", NULL});
    float samples[2 * 9600];
    ck_assert_uint_eq(dw_synth_read(synth, samples, 9600), 9600);
    dw_synth_free(synth);
    for (int i = 0; i < 10; i++)
        dw_live_meter_push(meter, samples, 9600);
    ck_assert_int_eq(dw_live_meter_figures(meter)->trouble, DW_LIVE_LOST);
    synth = play_open((const char *const[]){"synth.length=9s", "fault.speed_error=1%", NULL});
    feed(meter, synth, 4800);
    dw_synth_free(synth);
    ck_assert_double_eq_tol(fresh(meter, DW_LIVE_SPEED_ERROR), 1, 5 * PPM); // of the new tone alone
    dw_live_meter_free(meter);
}
END_TEST

START_TEST(a_change_of_speed_is_told_and_settles_anew)
{
    DwLiveMeter *meter = new_meter(48000, 2);
    DwSynth *synth = play_open((const char *const[]){"synth.length=8s", NULL});
    feed(meter, synth, 4800);
    dw_synth_free(synth);
    synth = play_open((const char *const[]){"synth.length=0.4s", "fault.speed_error=7%", NULL});
    feed(meter, synth, 4800);
    dw_synth_free(synth);
    ck_assert_int_eq(dw_live_meter_figures(meter)->trouble, DW_LIVE_WANDERED);
    ck_assert(strstr(figure(meter, DW_LIVE_SPEED_ERROR)->why, "has left its place"));
    synth = play_open((const char *const[]){"synth.length=9s", "fault.speed_error=35%", NULL});
    feed(meter, synth, 4800);
    dw_synth_free(synth);
    ck_assert_double_eq_tol(fresh(meter, DW_LIVE_SPEED_ERROR), 35, 7 * PPM);
    ck_assert_int_eq(dw_live_meter_figures(meter)->fit, DW_TONE_OTHER_SPEED);
    dw_live_meter_free(meter);
}
END_TEST

START_TEST(known_tones_are_known_and_others_are_not)
{
    static const char *const tones[] = {"record.tone=3000Hz", "record.tone=1000Hz", "record.tone=315Hz"};
    static const double hz[] = {3000, 1000, 315};
    for (size_t i = 0; i < 3; i++) {
        DwLiveMeter *meter = meter_of((const char *const[]){tones[i], "synth.length=8s", NULL});
        ck_assert_double_eq(dw_live_meter_figures(meter)->engraved_hz, hz[i]);
        ck_assert_double_eq_tol(fresh(meter, DW_LIVE_SPEED_ERROR), 0, 20 * PPM);
        dw_live_meter_free(meter);
    }
    DwLiveMeter *meter = meter_of((const char *const[]){"record.tone=440Hz", "synth.length=8s", NULL});
    ck_assert_int_eq(dw_live_meter_figures(meter)->trouble, DW_LIVE_FOREIGN);
    ck_assert_double_eq_tol(dw_live_meter_figures(meter)->tone_hz, 440, 2);
    ck_assert(figure(meter, DW_LIVE_SPEED_NOW)->stale && isnan(figure(meter, DW_LIVE_SPEED_NOW)->value));
    ck_assert(isfinite(fresh(meter, DW_LIVE_BALANCE))); // the channels do not hang on it
    dw_live_meter_free(meter);
}
END_TEST

START_TEST(levels_and_clipping_are_told_and_held)
{
    // A sine at −12 dB left and −20 dB right; full scale reads 0 dB, rms too.
    enum { COUNT = 48000 };
    static float samples[2 * COUNT];
    for (size_t n = 0; n < COUNT; n++) {
        double sine = sin(2 * M_PI * 1000.3 * (double)n / 48000);
        samples[2 * n] = (float)(pow(10, -12.0 / 20) * sine);
        samples[2 * n + 1] = (float)(0.1 * sine);
    }
    DwLiveMeter *meter = new_meter(48000, 2);
    dw_live_meter_push(meter, samples, COUNT);
    const DwLiveFigures *figures = dw_live_meter_figures(meter);
    ck_assert_double_eq_tol(figures->level[0].rms_db, -12, 0.01);
    ck_assert_double_eq_tol(figures->level[0].peak_db, -12, 0.02);
    ck_assert_double_eq_tol(figures->level[1].rms_db, -20, 0.01);
    samples[2 * 10000 + 1] = 1;
    samples[2 * 10001 + 1] = -1;
    dw_live_meter_push(meter, samples, COUNT);
    ck_assert_double_eq(figures->level[1].held_peak_db, 0);
    ck_assert_uint_eq(figures->level[1].clipped, 2);
    ck_assert(!figures->level[1].clipping); // the last frame did not
    ck_assert_uint_eq(figures->level[0].clipped, 0);
    dw_live_meter_reset_marks(meter);
    ck_assert_uint_eq(figures->level[1].clipped, 0);
    ck_assert(isinf(figures->level[1].held_peak_db));
    dw_live_meter_free(meter);
}
END_TEST

// Feeds SECONDS of a band of DECK whose walls move by LEFT and RIGHT.
static void feed_band(DwLiveMeter *meter, const BandDeck *deck, double left, double right, double seconds)
{
    BandSignal signal = {0};
    band_play(&signal, deck, left, right, seconds);
    dw_live_meter_push(meter, signal.samples, signal.frames);
    band_clear(&signal);
}

START_TEST(separation_tilt_and_polarity_are_those_of_the_pickup)
{
    BandDeck deck = band_deck_real(48000);
    deck.rotation_deg = 1.5;
    deck.leak[0] = deck.leak[1] = 0.01;
    deck.gain[1] = 0.9;
    DwLiveMeter *meter = new_meter(48000, 2);
    feed_band(meter, &deck, 0.3, 0.3, 5);
    double complex output[2];
    band_matrix(&deck, (double[2]){1, 1}, output);
    ck_assert_double_eq_tol(fresh(meter, DW_LIVE_BALANCE), 20 * log10(cabs(output[1] / output[0])), 0.02);
    ck_assert_double_eq(fresh(meter, DW_LIVE_POLARITY), 1);
    ck_assert_int_eq(dw_live_meter_figures(meter)->band, DW_BAND_LATERAL);
    ck_assert(figure(meter, DW_LIVE_SEPARATION_LEFT)->stale);
    feed_band(meter, &deck, 0.3, 0, 5);
    ck_assert(strstr(figure(meter, DW_LIVE_ROTATION)->why, "From one side only"));
    // One wall alone, through the pickup's matrix, gains made equal.
    double t = tan(1.5 * M_PI / 180), into_right = (t + 0.01) / (1 + 0.01 * t), into_left = (0.01 - t) / (1 - 0.01 * t);
    feed_band(meter, &deck, 0, 0.3, 5);
    ck_assert_double_eq_tol(fresh(meter, DW_LIVE_SEPARATION_RIGHT), -20 * log10(fabs(into_left)), 0.15);
    ck_assert_double_eq_tol(fresh(meter, DW_LIVE_ROTATION), 1.5, 0.03);
    feed_band(meter, &deck, 0.3, 0, 5);
    ck_assert_double_eq_tol(fresh(meter, DW_LIVE_SEPARATION_LEFT), -20 * log10(into_right), 0.15);
    ck_assert_double_eq_tol(fresh(meter, DW_LIVE_LEAK_PHASE_LEFT), 0, 3);
    ck_assert_double_eq_tol(fresh(meter, DW_LIVE_ROTATION), 1.5, 0.03);
    ck_assert(figure(meter, DW_LIVE_SEPARATION_RIGHT)->stale); // held, not of now
    ck_assert_double_eq_tol(figure(meter, DW_LIVE_SEPARATION_RIGHT)->age_s, 5, 1);
    dw_live_meter_free(meter);
}
END_TEST

START_TEST(a_reversed_channel_is_told)
{
    BandDeck deck = band_deck_real(48000);
    deck.reversed = true;
    DwLiveMeter *meter = new_meter(48000, 2);
    feed_band(meter, &deck, 0.3, 0.3, 5);
    ck_assert_double_eq(fresh(meter, DW_LIVE_POLARITY), -1);
    dw_live_meter_free(meter);
}
END_TEST

START_TEST(hum_is_told_under_the_tone)
{
    // Fundamental, third (half) and what lies beyond five lines.
    BandDeck deck = band_deck(48000);
    deck.noise = 1e-5;
    deck.hum = 0.001;
    DwLiveMeter *meter = new_meter(48000, 2);
    feed_band(meter, &deck, 0.3, 0.3, 6);
    ck_assert_double_eq_tol(fresh(meter, DW_LIVE_HUM), 20 * log10(0.001 * sqrt(1.25) / 0.3), 0.2);
    const DwLiveHumLine *line = dw_live_meter_figures(meter)->hum;
    ck_assert_double_eq_tol(line[0].amplitude, 0.001, 2e-5);
    ck_assert_double_eq_tol(line[2].amplitude, 0.0005, 1e-5);
    ck_assert(!line[0].noisy && line[1].noisy && !line[2].noisy && line[3].noisy);
    dw_live_meter_free(meter);
}
END_TEST

START_TEST(block_size_changes_nothing)
{
    static const size_t blocks[] = {1, 480, 100000};
    static const char *const operands[] = {"fault.wow=0.1%", "fault.ticks=60", "fault.dropouts=20", "synth.length=12s",
                                           NULL};
    DwLiveFigures first = {0};
    for (size_t i = 0; i < sizeof blocks / sizeof *blocks; i++) {
        DwSynth *synth = play_open(operands);
        DwLiveMeter *meter = new_meter(48000, 2);
        feed(meter, synth, blocks[i]);
        const DwLiveFigures *figures = dw_live_meter_figures(meter);
        if (i == 0)
            first = *figures;
        ck_assert_uint_eq(figures->frames, first.frames);
        ck_assert_str_eq(figures->why, first.why);
        for (size_t k = 0; k < DW_LIVE_FIGURES; k++) {
            const DwLiveFigure *a = &first.figure[k], *b = &figures->figure[k];
            ck_assert_msg(memcmp(&a->value, &b->value, sizeof a->value) == 0, "%s: %.12g, %.12g",
                          dw_live_figure_kind((DwLiveFigureName)k)->key, a->value, b->value);
            ck_assert_str_eq(a->why, b->why);
        }
        dw_synth_free(synth);
        dw_live_meter_free(meter);
    }
    ck_assert(isfinite(first.figure[DW_LIVE_WEIGHTED_TWO_SIGMA].value));
}
END_TEST

START_TEST(every_rate_and_one_channel_serve)
{
    static const char *const rates[] = {"synth.rate=8kHz", "synth.rate=44.1kHz", "synth.rate=48kHz", "synth.rate=96kHz",
                                        "synth.rate=192kHz"};
    static const char *const channels[] = {"synth.channels=1", "synth.channels=2"};
    for (size_t i = 0; i < 10; i += alike(1, 5)) { // each by one channel or by two
        DwLiveMeter *meter = meter_of((const char *const[]){rates[i / 2], channels[i % 2], "fault.speed_error=0.5%",
                                                            "fault.line=4Hz:0.1%", "synth.length=8s", NULL});
        ck_assert_double_eq_tol(fresh(meter, DW_LIVE_SPEED_ERROR), 0.5, 20 * PPM);
        ck_assert_double_eq_tol(fresh(meter, DW_LIVE_WEIGHTED_TWO_SIGMA), 0.0997, 0.001);
        ck_assert(figure(meter, DW_LIVE_BALANCE)->stale == (i % 2 == 0));
        dw_live_meter_free(meter);
    }
}
END_TEST

START_TEST(what_is_no_number_or_missing_is_told)
{
    DwSynth *synth = play_open((const char *const[]){"synth.length=20s", NULL});
    DwLiveMeter *meter = new_meter(48000, 2);
    static float samples[2 * 384000];
    ck_assert_uint_eq(dw_synth_read(synth, samples, 384000), 384000);
    dw_live_meter_push(meter, samples, 384000);
    ck_assert(isfinite(fresh(meter, DW_LIVE_WEIGHTED_RMS)));
    ck_assert_uint_eq(dw_synth_read(synth, samples, 384000), 384000);
    samples[17] = NAN;
    samples[18] = INFINITY;
    dw_live_meter_push(meter, samples, 4800);
    ck_assert_int_eq(dw_live_meter_figures(meter)->trouble, DW_LIVE_BROKEN);
    ck_assert_uint_eq(dw_live_meter_figures(meter)->bad_samples, 2);
    dw_live_meter_push(meter, samples + 2 * 4800, 48000);
    ck_assert(isfinite(fresh(meter, DW_LIVE_SPEED_TURN))); // two bad samples are no more than a tick
    dw_live_meter_break(meter);
    dw_live_meter_push(meter, samples + 2 * 60000, 4800);
    ck_assert_int_eq(dw_live_meter_figures(meter)->trouble, DW_LIVE_BROKEN);
    ck_assert(figure(meter, DW_LIVE_SPEED_NOW)->stale);
    dw_live_meter_push(meter, samples + 2 * 64800, 310000);
    ck_assert(isfinite(fresh(meter, DW_LIVE_SPEED_ERROR)));
    ck_assert_uint_eq(dw_live_meter_figures(meter)->gaps, 1);
    dw_synth_free(synth);
    dw_live_meter_free(meter);
}
END_TEST

#if defined(__SANITIZE_ADDRESS__)
size_t __sanitizer_get_current_allocated_bytes(void);
static size_t allocated(void)
{
    return __sanitizer_get_current_allocated_bytes();
}
#else
static size_t allocated(void)
{
    struct mallinfo2 info = mallinfo2();
    return info.uordblks + info.hblkhd;
}
#endif

START_TEST(two_channels_hold_memory_flat_too)
{
    BandDeck deck = band_deck_real(48000);
    BandSignal signal = {0};
    band_play(&signal, &deck, 0.3, 0, 10);
    DwLiveMeterSettings settings = dw_live_meter_settings(48000, 2);
    settings.every_s = 60;
    DwLiveMeter *meter = dw_live_meter_new(&settings);
    size_t early = 0;
    for (size_t i = 0; i < alike(30, 12); i++) {
        dw_live_meter_push(meter, signal.samples, signal.frames);
        if (i == 7)
            early = allocated();
    }
    ck_assert(isfinite(fresh(meter, DW_LIVE_SEPARATION_LEFT)));
    ck_assert_msg(allocated() <= early + early / 50, "%zu bytes, later %zu", early, allocated());
    band_clear(&signal);
    dw_live_meter_free(meter);
}
END_TEST

START_TEST(an_hour_holds_memory_flat)
{
    // Thirty seconds again and again, with a seam that is a tick; the slow figures
    // are worked out rarely, and the rate is a low one, to keep the test quick.
    DwSynth *synth = play_open(
        (const char *const[]){"synth.rate=8kHz", "synth.channels=1", "fault.wow=0.1%", "synth.length=30s", NULL});
    size_t count = dw_synth_frames(synth);
    float *samples = calloc(count, sizeof *samples);
    ck_assert_uint_eq(dw_synth_read(synth, samples, count), count);
    dw_synth_free(synth);
    DwLiveMeterSettings settings = dw_live_meter_settings(8000, 1);
    settings.every_s = 120;
    DwLiveMeter *meter = dw_live_meter_new(&settings);
    size_t early = 0, rounds = alike(120, 12); // six minutes hold it as flat
    for (size_t i = 0; i < rounds; i++) {
        dw_live_meter_push(meter, samples, count);
        if (i == 4) // the windows are as large as they get
            early = allocated();
    }
    ck_assert_double_eq_tol(dw_live_meter_figures(meter)->heard_s, 30 * (double)rounds, 0.1);
    ck_assert_int_eq(dw_live_meter_figures(meter)->trouble, DW_LIVE_GOOD);
    ck_assert_uint_gt(early, 0);
    ck_assert_msg(allocated() <= early + early / 50, "%zu bytes after 2.5 minutes, %zu at the end", early, allocated());
    free(samples);
    dw_live_meter_free(meter);
}
END_TEST

// A tone 0.4 % fast whose speed swings by LINE_HZ, 0.1 % peak, and once a turn by 0.2 %: its phase in closed form.
static void feed_swinging(DwLiveMeter *meter, double rate, double seconds, double line_hz)
{
    enum { BLOCK = 480 };
    double f = 3150 * 1.004, turn_hz = 1.004 * 100 / 180;
    float samples[2 * BLOCK];
    for (size_t n = 0; (double)n < seconds * rate; n += BLOCK) {
        for (size_t i = 0; i < BLOCK; i++) {
            double at = (double)(n + i) / rate;
            double phase = 2 * M_PI * f * at - f * 0.001 / line_hz * cos(2 * M_PI * line_hz * at) -
                           f * 0.002 / turn_hz * cos(2 * M_PI * turn_hz * at);
            samples[2 * i] = samples[2 * i + 1] = (float)(0.25 * sin(phase));
        }
        dw_live_meter_push(meter, samples, BLOCK);
    }
}

START_TEST(the_flutter_by_frequency_names_the_part)
{
    DwLiveMeterSettings settings = dw_live_meter_settings(48000, 2);
    // 300 rpm on a pulley of 20 mm under a rim of 180 mm: 33⅓ rpm, the motor 5 times a second.
    dw_drive_init(&settings.speed.drive, DW_DRIVE_BELT);
    settings.speed.drive.motor_rpm = 300;
    settings.speed.drive.pulley_mm = 20;
    settings.speed.drive.rim_mm = 180;
    settings.speed.drive.belt_thickness_mm = 0;
    settings.speed.drive_given = true;
    DwLiveMeter *meter = dw_live_meter_new(&settings);
    ck_assert_uint_eq(dw_live_meter_spectrum(meter)->made, 0);
    feed_swinging(meter, 48000, 31.4, 5 * 1.004);
    const DwLiveSpectrum *spectrum = dw_live_meter_spectrum(meter);
    ck_assert_uint_ge(spectrum->lines, 2);
    ck_assert_double_eq_tol(spectrum->line[0].hz, 1.004 * 100 / 180, 0.002);
    ck_assert_double_eq_tol(spectrum->line[0].percent, 0.2, 0.004);
    ck_assert_double_eq_tol(spectrum->line[1].hz, 5.02, 0.01);
    ck_assert_double_eq_tol(spectrum->line[1].percent, 0.1, 0.004);
    ck_assert_str_eq(spectrum->line[1].part, "motor");
    bool marked = false;
    for (size_t i = 0; i < spectrum->marks; i++)
        marked = marked || (strcmp(spectrum->mark[i].part, "motor") == 0 && fabs(spectrum->mark[i].hz - 5.02) < 0.05);
    ck_assert(marked);
    double bin =
        DW_LIVE_BINS * log(5.02 / dw_live_spectrum_low_hz) / log(dw_live_spectrum_high_hz / dw_live_spectrum_low_hz);
    float most = 0;
    for (size_t i = (size_t)bin - 1; i <= (size_t)bin + 1; i++)
        most = fmaxf(most, spectrum->percent[i]);
    ck_assert_double_ge(most, 0.08); // between two bins of the window it is up to 1.4 dB lower
    ck_assert_double_le(most, 0.104);
    push_silence(meter, 5 * 48000);
    feed_swinging(meter, 48000, 2, 5 * 1.004); // another tone: what was before is not of now
    ck_assert_uint_eq(dw_live_meter_spectrum(meter)->lines, 0);
    dw_live_meter_free(meter);
}
END_TEST

START_TEST(ten_minutes_are_remembered_second_by_second)
{
    enum { RATE = 8000 }; // minutes of silence are quicker at it
    DwLiveMeter *meter = new_meter(RATE, 2);
    feed_swinging(meter, RATE, 25, 5);
    const DwLiveHistory *history = dw_live_meter_history(meter);
    ck_assert_uint_eq(history->ended, 25);
    ck_assert(isnan(history->percent[0])); // no turn was heard yet
    for (size_t t = 6; t < 25; t++)
        ck_assert_double_eq_tol(history->percent[t], 0.4, 0.03);
    push_silence(meter, 3 * RATE);
    ck_assert(isnan(history->percent[27])); // nothing is told that was not measured
    push_silence(meter, DW_LIVE_SECONDS * RATE);
    ck_assert_uint_eq(dw_live_history_first(history), 28);
    dw_live_meter_free(meter);
}
END_TEST

DW_SUITE("live meter", the_flutter_by_frequency_names_the_part, ten_minutes_are_remembered_second_by_second,
         flutter_says_not_yet_until_three_turns_were_heard, the_raster_keeps_the_last_turns,
         a_dropout_is_told_within_150_ms, a_lost_tone_is_told_from_silence_and_found_again,
         a_change_of_speed_is_told_and_settles_anew, levels_and_clipping_are_told_and_held,
         separation_tilt_and_polarity_are_those_of_the_pickup, a_reversed_channel_is_told, hum_is_told_under_the_tone,
         block_size_changes_nothing, every_rate_and_one_channel_serve, what_is_no_number_or_missing_is_told,
         two_channels_hold_memory_flat_too, an_hour_holds_memory_flat, DW_FIGURES,
         settled_speed_is_right_within_five_ppm, the_speed_of_now_follows_the_wow, flutter_is_that_of_the_file,
         the_raster_stands_in_line_with_the_platter, known_tones_are_known_and_others_are_not)
