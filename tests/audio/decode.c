// SPDX-License-Identifier: MIT
// What phones make: recordings that GStreamer has to decode, made here by its encoders.
#include "audio/source.h"
#include "support.h"
#include "support/suite.h"

#include <gst/gst.h>
#include <math.h>
#include <stdlib.h>
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
    ck_assert_str_eq(test_remark(source), "");
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
    ck_assert_msg(strstr(test_remark(source), "of 2.0 seconds could be read."), "%s", test_remark(source));
    dw_source_close(source);
}
END_TEST

// A swelling and fading 1 kHz, a tenth of a second about sample MIDDLE, in a second of silence: after a codec it
// still has its middle.
enum { MIDDLE = 22050 };

static void write_swell(const char *path)
{
    enum { COUNT = 44100 };
    TestBytes file = {0};
    test_put_wav_head(&file, &(TestWav){44100, 1, 16, 1, 2 * COUNT});
    for (int i = 0; i < COUNT; i++) {
        double time = (i - MIDDLE) / 44100.0;
        double sample = 16000 * exp(-pow(time / 0.025, 2)) * cos(2 * G_PI * 1000 * time);
        test_put_number(&file, (uint64_t)lround(sample), 2);
    }
    test_write(path, file.bytes, file.count);
    free(file.bytes);
}

// The sample about which the first channel's power lies.
static double heard_middle(const char *path)
{
    DwSource *source = test_open(path);
    size_t frames;
    float *samples = test_read_all(source, 700, &frames, NULL);
    double power = 0, moment = 0;
    for (size_t i = 0; i < frames; i++) {
        double sample = samples[i * dw_source_channels(source)];
        power += sample * sample;
        moment += (double)i * sample * sample;
    }
    free(samples);
    dw_source_close(source);
    return moment / power;
}

static const char *encoded_swell(const char *encoder, const char *name)
{
    const char *from = test_path("swell.wav"), *to = test_path(name);
    write_swell(from);
    test_run_pipeline("filesrc location=%s ! wavparse ! audioconvert ! %s ! filesink location=%s", from, encoder, to);
    return to;
}

// What no encoder of the codec can do without. One that states nothing may pad some more: TOO_LATE samples.
START_TEST(what_a_codec_puts_ahead_is_left_out)
{
    static const struct {
        const char *encoder, *words, *name;
        double too_late;
    } tried[] = {
        {"avenc_aac", "avenc_aac bitrate=128000 ! mp4mux", "swell.m4a", 0},
        {"avenc_aac", "avenc_aac bitrate=128000 ! matroskamux", "swell.mka", 0},
        {"lamemp3enc", "lamemp3enc target=bitrate bitrate=192", "swell.mp3", 48},
        {"lamemp3enc", "lamemp3enc target=quality quality=2 ! xingmux", "told.mp3", 48},
        {"avenc_ac3", "avenc_ac3 ! matroskamux", "ac3.mka", 0},
        {"twolamemp2enc", "twolamemp2enc bitrate=192", "swell.mp2", 0},
        {"vorbisenc", "vorbisenc quality=0.8 ! matroskamux", "vorbis.mka", 0},
    };
    for (size_t i = 0; i < sizeof tried / sizeof *tried; i++) {
        if (!test_has_element(tried[i].encoder)) {
            printf("# passed over: %s is not installed\n", tried[i].encoder);
            continue;
        }
        double middle = heard_middle(encoded_swell(tried[i].words, tried[i].name));
        double off = middle - MIDDLE - tried[i].too_late;
        ck_assert_msg(fabs(off) <= 2, "%s: %.1f samples late", tried[i].name, middle - MIDDLE);
    }
}
END_TEST

// 2112 is what many encoders of AAC put ahead; here 1024 are, so the sound comes 1088 too early.
START_TEST(an_edit_list_says_where_the_sound_begins)
{
    if (!has_phone_parts())
        TEST_PASS_OVER(PHONE_PARTS_MISSING);
    const char *path = encoded_swell("avenc_aac bitrate=128000 ! mp4mux", "edited.m4a");
    size_t count;
    unsigned char *bytes = test_read(path, &count);
    unsigned char *list = memmem(bytes, count, "elst", 4);
    ck_assert_ptr_nonnull(list);
    memcpy(list + 16, "\0\0\x08\x40", 4); // behind version, count and duration: the time in the medium
    test_write(path, bytes, count);
    free(bytes);
    ck_assert_double_eq_tol(heard_middle(path), MIDDLE + 1024 - 2112, 2);
}
END_TEST

static void put_box(TestBytes *file, const char *name, const void *bytes, size_t count)
{
    unsigned long length = 8 + count;
    unsigned char head[8] = {0, 0, (unsigned char)(length >> 8), (unsigned char)length};
    memcpy(head + 4, name, 4);
    test_put(file, head, sizeof head);
    test_put(file, bytes, count);
}

// The item of an MP4's metadata that tells the priming, put in place of the last, empty list.
START_TEST(an_mp4_that_states_its_priming_is_believed)
{
    if (!has_phone_parts())
        TEST_PASS_OVER(PHONE_PARTS_MISSING);
    static const char words[] = "\0\0\0\1\0\0\0\0 00000000 00000840 000001CA 000000000000AC44";
    TestBytes item = {0}, list = {0}, meta = {0}, user = {0}, moov = {0};
    put_box(&item, "mean", "\0\0\0\0com.apple.iTunes", 20);
    put_box(&item, "name", "\0\0\0\0iTunSMPB", 12);
    put_box(&item, "data", words, sizeof words - 1);
    put_box(&list, "----", item.bytes, item.count);
    test_put_number(&meta, 0, 4);
    put_box(&meta, "ilst", list.bytes, list.count);
    put_box(&user, "meta", meta.bytes, meta.count);
    const char *path = encoded_swell("avenc_aac bitrate=128000 ! mp4mux", "primed.m4a");
    size_t count;
    unsigned char *bytes = test_read(path, &count);
    unsigned char *place = memmem(bytes, count, "moov", 4),
                  *old = memmem(place, count - (size_t)(place - bytes), "trak", 4);
    size_t track = (size_t)old[-2] << 8 | old[-1];
    test_put(&moov, place + 4, (size_t)(old - place) - 8 + track);
    put_box(&moov, "udta", user.bytes, user.count);
    TestBytes file = {0};
    test_put(&file, bytes, (size_t)(place - bytes) - 4);
    put_box(&file, "moov", moov.bytes, moov.count);
    test_write(path, file.bytes, file.count);
    double middle = heard_middle(path);
    TestBytes *all[] = {&item, &list, &meta, &user, &moov, &file};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        free(all[i]->bytes);
    free(bytes);
    ck_assert_double_eq_tol(middle, MIDDLE + 1024 - 2112, 2);
}
END_TEST

// The tag's delays of the encoder, put behind the fields of a first frame that tells the length.
START_TEST(an_mp3_that_states_its_delay_is_believed)
{
    if (!test_has_element("lamemp3enc") || !test_has_element("xingmux"))
        TEST_PASS_OVER("GStreamer's lamemp3enc or xingmux is not installed");
    const char *path = encoded_swell("lamemp3enc target=bitrate bitrate=192 ! xingmux", "stated.mp3");
    size_t count;
    unsigned char *bytes = test_read(path, &count);
    unsigned char *tag = memmem(bytes, count, "Xing", 4);
    ck_assert_ptr_nonnull(tag);
    // The muxer's frame has no room behind all four fields: drop the table and tell so.
    ck_assert_uint_eq(tag[7] & 0xf, 0x7);
    tag[7] = 0x3;
    memset(tag + 16, 0, 100);
    memcpy(tag + 16, "ENC3.100r", 9);
    tag[16 + 21] = 576 >> 4;
    tag[16 + 22] = (576 & 0xf) << 4 | 4;
    test_write(path, bytes, count);
    free(bytes);
    ck_assert_double_eq_tol(heard_middle(path), MIDDLE, 2);
}
END_TEST

START_TEST(a_decoder_that_is_not_installed_is_named)
{
    if (!has_phone_parts())
        TEST_PASS_OVER(PHONE_PARTS_MISSING);
    const char *path = test_path("undecoded.m4a");
    test_run_pipeline("%s ! avenc_aac ! mp4mux ! filesink location=%s", stereo_tone, path);
    // The decoder is a process of its own, which hears of it by its environment.
    setenv("GST_PLUGIN_FEATURE_RANK",
           "avdec_aac:NONE,avdec_aac_fixed:NONE,avdec_aac_latm:NONE,faad:NONE,fdkaacdec:NONE", 1);
    DwSource *source = NULL;
    DwMessage message = {""};
    ck_assert_int_eq(dw_source_open(path, &source, &message), DW_FAILED);
    unsetenv("GST_PLUGIN_FEATURE_RANK");
    ck_assert_ptr_null(source);
    ck_assert_msg(strncmp(message.text, path, strlen(path)) == 0, "%s", message.text);
    ck_assert_msg(strstr(message.text, "AAC") && strstr(message.text, "gstreamer1.0-libav"), "%s", message.text);
}
END_TEST

DW_SUITE("decode", m4a_keeps_length_and_tone, the_sound_of_a_video_is_read, mono_stays_mono, lossless_sound_is_exact,
         what_a_codec_puts_ahead_is_left_out, an_edit_list_says_where_the_sound_begins,
         an_mp4_that_states_its_priming_is_believed, an_mp3_that_states_its_delay_is_believed,
         an_m4a_cut_off_in_its_samples_is_read_and_told, a_decoder_that_is_not_installed_is_named)
