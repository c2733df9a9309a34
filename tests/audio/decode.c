// SPDX-License-Identifier: MIT
// What phones make: recordings that GStreamer has to decode, made here by its encoders.
#include "audio/source.h"
#include "support.h"
#include "support/suite.h"

#include <gst/gst.h>
#include <string.h>

static const char stereo_tone[] = "audiotestsrc num-buffers=100 samplesperbuffer=960 freq=3150 volume=0.5 ! "
                                  "audio/x-raw,rate=48000,channels=2 ! audioconvert";
static const char *const needed[] = {"avenc_aac", "avdec_aac", "mp4mux", "qtdemux"};

static bool has_phone_parts(void)
{
    for (size_t i = 0; i < sizeof needed / sizeof *needed; i++)
        if (!test_has_element(needed[i]))
            return false;
    return true;
}
#define PHONE_PARTS_MISSING "GStreamer's AAC or MP4 parts (gstreamer1.0-libav, -plugins-good) are not installed"

// Two seconds of 3150 Hz; an encoder of 1024-frame blocks may pad both ends.
static void expect_tone(const char *path, const char *format, unsigned channels)
{
    DwSource *source = test_open(path);
    ck_assert_str_eq(dw_source_format(source), format);
    ck_assert_double_eq(dw_source_rate_hz(source), 48000);
    ck_assert_uint_eq(dw_source_channels(source), channels);
    ck_assert_int_ge(dw_source_frames(source), 96000 - 3 * 1024);
    ck_assert_int_le(dw_source_frames(source), 96000 + 3 * 1024);
    size_t frames;
    unsigned gaps;
    float *samples = test_read_all(source, 1500, &frames, &gaps);
    ck_assert_uint_ge(frames, 96000 - 3 * 1024);
    ck_assert_uint_le(frames, 96000 + 3 * 1024);
    ck_assert_uint_eq(gaps, 0);
    ck_assert_double_eq_tol(test_tone_hz(samples, frames, channels, channels - 1, 48000), 3150, 0.05);
    ck_assert_double_eq_tol(test_peak(samples, frames, channels, channels - 1), 0.5, 0.05);
    ck_assert_str_eq(dw_source_remark(source), "");
    free(samples);
    dw_source_close(source);
}

START_TEST(m4a_keeps_length_and_tone)
{
    if (!has_phone_parts())
        TEST_PASS_OVER(PHONE_PARTS_MISSING);
    const char *path = test_path("tone.m4a");
    test_run_pipeline("%s ! avenc_aac bitrate=256000 ! mp4mux ! filesink location=%s", stereo_tone, path);
    expect_tone(path, "ISO MP4/M4A, MPEG-4 AAC audio", 2);
}
END_TEST

START_TEST(the_sound_of_a_video_is_read)
{
    if (!has_phone_parts())
        TEST_PASS_OVER(PHONE_PARTS_MISSING);
    if (!test_has_element("qtmux") || !test_has_element("jpegenc"))
        TEST_PASS_OVER("GStreamer's qtmux or jpegenc is not installed");
    const char *path = test_path("clip.mov");
    test_run_pipeline("qtmux name=m ! filesink location=%s videotestsrc num-buffers=60 ! "
                      "video/x-raw,width=64,height=48,framerate=30/1 ! jpegenc ! m. %s ! "
                      "avenc_aac bitrate=256000 ! m.",
                      path, stereo_tone);
    expect_tone(path, "Quicktime, MPEG-4 AAC audio", 2);
}
END_TEST

START_TEST(mono_stays_mono)
{
    if (!has_phone_parts())
        TEST_PASS_OVER(PHONE_PARTS_MISSING);
    const char *path = test_path("mono.m4a");
    test_run_pipeline("audiotestsrc num-buffers=100 samplesperbuffer=960 freq=3150 volume=0.5 ! "
                      "audio/x-raw,rate=48000,channels=1 ! audioconvert ! avenc_aac bitrate=128000 ! mp4mux ! "
                      "filesink location=%s",
                      path);
    expect_tone(path, "ISO MP4/M4A, MPEG-4 AAC audio", 1);
}
END_TEST

// Lossless inside a container that only GStreamer knows: every sample is right.
START_TEST(lossless_sound_is_exact)
{
    if (!test_has_element("matroskamux") || !test_has_element("matroskademux"))
        TEST_PASS_OVER("GStreamer's matroskamux is not installed");
    enum { COUNT = 20000 };
    TestBytes file = {0};
    test_put_wav_head(&file, &(TestWav){96000, 1, 24, 1, 3 * COUNT});
    for (uint32_t i = 0; i < COUNT; i++)
        test_put_number(&file, i * 2654435761u, 3);
    const char *from = test_path("exact.wav"), *to = test_path("exact.mka");
    test_write(from, file.bytes, file.count);
    free(file.bytes);
    test_run_pipeline("filesrc location=%s ! wavparse ! matroskamux ! filesink location=%s", from, to);
    DwSource *source = test_open(to);
    ck_assert_double_eq(dw_source_rate_hz(source), 96000);
    size_t frames;
    float *samples = test_read_all(source, 777, &frames, NULL);
    ck_assert_uint_eq(frames, COUNT);
    for (uint32_t i = 0; i < COUNT; i++) {
        int32_t step = (int32_t)(i * 2654435761u << 8) / 256;
        if (samples[i] != (float)step / 8388608.0f)
            ck_abort_msg("sample %u", i);
    }
    free(samples);
    dw_source_close(source);
}
END_TEST

START_TEST(an_m4a_cut_off_in_its_samples_is_read_and_told)
{
    if (!has_phone_parts())
        TEST_PASS_OVER(PHONE_PARTS_MISSING);
    const char *path = test_path("cut.m4a");
    test_run_pipeline("%s ! avenc_aac bitrate=256000 ! mp4mux faststart=true ! filesink location=%s", stereo_tone,
                      path);
    size_t count, frames;
    unsigned char *bytes = test_read(path, &count);
    test_write(path, bytes, count / 2);
    free(bytes);
    DwSource *source = test_open(path);
    free(test_read_all(source, 4096, &frames, NULL));
    ck_assert_uint_gt(frames, 20000);
    ck_assert_uint_lt(frames, 70000);
    ck_assert_msg(strstr(dw_source_remark(source), "of 2.0 seconds could be read."), "%s", dw_source_remark(source));
    dw_source_close(source);
}
END_TEST

static void set_rank(guint rank)
{
    static const char *const decoders[] = {"avdec_aac", "avdec_aac_fixed", "avdec_aac_latm", "faad", "fdkaacdec"};
    for (size_t i = 0; i < sizeof decoders / sizeof *decoders; i++) {
        GstElementFactory *factory = gst_element_factory_find(decoders[i]);
        if (!factory)
            continue;
        gst_plugin_feature_set_rank(GST_PLUGIN_FEATURE(factory), rank);
        gst_object_unref(factory);
    }
}

START_TEST(a_decoder_that_is_not_installed_is_named)
{
    if (!has_phone_parts())
        TEST_PASS_OVER(PHONE_PARTS_MISSING);
    const char *path = test_path("undecoded.m4a");
    test_run_pipeline("%s ! avenc_aac ! mp4mux ! filesink location=%s", stereo_tone, path);
    set_rank(GST_RANK_NONE);
    DwSource *source = NULL;
    DwMessage message = {""};
    ck_assert_int_eq(dw_source_open(path, &source, &message), DW_FAILED);
    set_rank(GST_RANK_PRIMARY);
    ck_assert_ptr_null(source);
    ck_assert_msg(strncmp(message.text, path, strlen(path)) == 0, "%s", message.text);
    ck_assert_msg(strstr(message.text, "AAC") && strstr(message.text, "gstreamer1.0-libav"), "%s", message.text);
}
END_TEST

DW_SUITE("decode", m4a_keeps_length_and_tone, the_sound_of_a_video_is_read, mono_stays_mono, lossless_sound_is_exact,
         an_m4a_cut_off_in_its_samples_is_read_and_told, a_decoder_that_is_not_installed_is_named)
