// SPDX-License-Identifier: MIT
#include "audio/live.h"
#include "support.h"
#include "support/suite.h"

#include <string.h>

// Reads COUNT frames of a live source, however they come, without a gap.
static float *read_live(DwSource *source, size_t count)
{
    unsigned channels = dw_source_channels(source);
    float *samples = calloc(count * channels, sizeof *samples);
    for (size_t done = 0; done < count;) {
        size_t got;
        unsigned flags;
        DwMessage message = {""};
        DwStatus status = dw_source_read(source, samples + done * channels, count - done, &got, &flags, &message);
        ck_assert_msg(status == DW_OK, "%s", message.text);
        ck_assert_uint_gt(got, 0);
        ck_assert_uint_eq(flags, 0);
        done += got;
    }
    return samples;
}

static void expect_tone(double asked_hz, double rate_hz)
{
    enum { COUNT = 20000 };
    DwSource *source;
    DwMessage message = {""};
    ck_assert_msg(dw_live_open("tone", asked_hz, &source, &message) == DW_OK, "%s", message.text);
    ck_assert_double_eq(dw_source_rate_hz(source), rate_hz);
    ck_assert_int_eq(dw_source_frames(source), -1);
    unsigned channels = dw_source_channels(source);
    ck_assert_uint_eq(channels, 2);
    float *samples = read_live(source, COUNT);
    ck_assert_double_eq_tol(test_tone_hz(samples, COUNT, channels, 1, rate_hz), 3150, 0.05);
    ck_assert_double_eq_tol(test_peak(samples, COUNT, channels, 0), 0.5, 0.01);
    free(samples);
    dw_source_close(source);
}

START_TEST(the_test_tone_is_what_it_says)
{
    expect_tone(0, 48000);
    expect_tone(96000, 96000);
}
END_TEST

START_TEST(the_list_names_what_can_be_opened)
{
    DwLiveList list;
    DwMessage message = {""};
    ck_assert_msg(dw_live_list(&list, &message) == DW_OK, "%s", message.text);
    ck_assert_uint_ge(list.count, 1);
    ck_assert_str_eq(list.inputs[0].name, "tone");
    for (size_t i = 0; i < list.count; i++) {
        ck_assert(list.inputs[i].name[0] && list.inputs[i].label[0]);
        for (size_t k = 0; k < i; k++)
            ck_assert_str_ne(list.inputs[i].name, list.inputs[k].name);
    }
    dw_live_list_clear(&list);
    ck_assert_uint_eq(list.count, 0);
    dw_live_list_clear(&list);
}
END_TEST

// Played at its own speed, every sample of the recording comes once, and then
// the input ends.
START_TEST(a_recording_is_played_as_if_live)
{
    enum { COUNT = 9600 };
    TestBytes file = {0};
    test_put_wav_head(&file, &(TestWav){48000, 1, 16, 1, 2 * COUNT});
    for (unsigned i = 0; i < COUNT; i++)
        test_put_number(&file, i, 2);
    char name[500];
    const char *path = test_path("played.wav");
    snprintf(name, sizeof name, "file:%s", path);
    test_write(path, file.bytes, file.count);
    free(file.bytes);
    DwSource *source;
    DwMessage message = {""};
    ck_assert_msg(dw_live_open(name, 0, &source, &message) == DW_OK, "%s", message.text);
    float *samples = read_live(source, COUNT);
    for (unsigned i = 0; i < COUNT; i++)
        if (samples[i] != (float)i / 32768)
            ck_abort_msg("sample %u", i);
    size_t got = 1;
    ck_assert_int_eq(dw_source_read(source, samples, 1, &got, NULL, &message), DW_OK);
    ck_assert_uint_eq(got, 0);
    free(samples);
    dw_source_close(source);
}
END_TEST

START_TEST(what_is_not_there_is_refused)
{
    DwSource *source = NULL;
    DwMessage message = {""};
    ck_assert_int_eq(dw_live_open("bench card 7", 0, &source, &message), DW_BAD_INPUT);
    ck_assert_str_eq(message.text,
                     "Live input \"bench card 7\" cannot be opened: there is no such input; plug it in, or "
                     "choose one from the list.");
    ck_assert_int_eq(dw_live_open("file:/nowhere/deck.wav", 0, &source, &message), DW_BAD_INPUT);
    ck_assert_str_eq(message.text, "/nowhere/deck.wav: there is no such file. Check the name and the folder.");
    ck_assert_ptr_null(source);
}
END_TEST

DW_SUITE("live", the_test_tone_is_what_it_says, the_list_names_what_can_be_opened, a_recording_is_played_as_if_live,
         what_is_not_there_is_refused)
