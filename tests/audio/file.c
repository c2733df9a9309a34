// SPDX-License-Identifier: MIT
#include "audio/source.h"
#include "support.h"
#include "support/suite.h"

#include <math.h>
#include <string.h>

enum { FRAMES = 3000, RATE_HZ = 96000 };

// Whole-number samples of BITS bits that reach both ends of the scale: a
// multiplicative walk, so that no two neighbours are alike.
static int32_t whole(unsigned index, unsigned bits)
{
    int64_t most = (int64_t)1 << (bits - 1);
    if (index == 0)
        return (int32_t)(most - 1);
    if (index == 1)
        return (int32_t)-most;
    return (int32_t)((uint32_t)(index * 2654435761u) % (uint64_t)(2 * most) - (uint64_t)most);
}

static void put_samples(TestBytes *file, unsigned count, unsigned bits)
{
    for (unsigned i = 0; i < count; i++)
        test_put_number(file, (uint64_t)(int64_t)whole(i, bits), bits / 8);
}

static const char *save(TestBytes *file, const char *name)
{
    const char *path = test_path(name);
    test_write(path, file->bytes, file->count);
    free(file->bytes);
    *file = (TestBytes){0};
    return path;
}

// Every sample is the whole number over 2^(bits - 1), for any size of block.
static void expect_whole(const char *path, unsigned bits, const char *format)
{
    const size_t blocks[] = {1, 7, 4096};
    for (size_t b = 0; b < 3; b++) {
        DwSource *source = test_open(path);
        ck_assert_str_eq(dw_source_format(source), format);
        ck_assert_str_eq(test_remark(source), "");
        ck_assert_double_eq(dw_source_rate_hz(source), RATE_HZ);
        ck_assert_uint_eq(dw_source_channels(source), 2);
        ck_assert_int_eq(dw_source_frames(source), FRAMES);
        size_t frames;
        unsigned gaps;
        float *samples = test_read_all(source, blocks[b], &frames, &gaps);
        ck_assert_uint_eq(frames, FRAMES);
        ck_assert_uint_eq(gaps, 0);
        for (unsigned i = 0; i < 2 * FRAMES; i++)
            if (samples[i] != (float)ldexp(whole(i, bits), 1 - (int)bits))
                ck_abort_msg("%s: sample %u is %.9g", path, i, (double)samples[i]);
        ck_assert_str_eq(test_remark(source), "");
        free(samples);
        dw_source_close(source);
    }
}

START_TEST(wav_is_read_to_the_sample)
{
    static const char *const formats[] = {"WAV, 16-bit PCM", "WAV, 24-bit PCM", "WAV, 32-bit PCM"};
    for (unsigned bits = 16; bits <= 32; bits += 8) {
        TestBytes file = {0};
        test_put_wav_head(&file, &(TestWav){RATE_HZ, 2, bits, 1, 2 * FRAMES * bits / 8});
        put_samples(&file, 2 * FRAMES, bits);
        expect_whole(save(&file, "whole.wav"), bits, formats[bits / 8 - 2]);
    }
}
END_TEST

// Source (published): the layout of EBU Tech 3306, "MBWF/RF64: an extended file format for
// audio" (from memory): sizes of ones, the true ones in "ds64".
static void put_rf64(TestBytes *file, uint64_t data_bytes)
{
    test_put(file, "RF64", 4);
    test_put_number(file, 0xFFFFFFFF, 4);
    test_put(file, "WAVEds64", 8);
    test_put_number(file, 28, 4);
    test_put_number(file, data_bytes + 72, 8);
    test_put_number(file, data_bytes, 8);
    test_put_number(file, data_bytes / 6, 8);
    test_put_number(file, 0, 4);
    TestBytes plain = {0};
    test_put_wav_head(&plain, &(TestWav){RATE_HZ, 2, 24, 1, 0xFFFFFFFF});
    test_put(file, plain.bytes + 12, plain.count - 12);
    free(plain.bytes);
}

START_TEST(rf64_is_read_to_the_sample)
{
    TestBytes file = {0};
    put_rf64(&file, 6 * FRAMES);
    put_samples(&file, 2 * FRAMES, 24);
    expect_whole(save(&file, "long.wav"), 24, "RF64, 24-bit PCM");
}
END_TEST

START_TEST(what_sox_wrote_is_read_to_the_sample)
{
    if (!test_has_sox())
        TEST_PASS_OVER("sox is not installed");
    static const struct {
        const char *name, *format;
        unsigned bits;
    } cases[] = {
        {"sox24.wav", "WAV, 24-bit PCM", 24},   {"sox16.wav", "WAV, 16-bit PCM", 16},
        {"sox24.flac", "FLAC, 24-bit PCM", 24}, {"sox16.flac", "FLAC, 16-bit PCM", 16},
        {"sox24.aiff", "AIFF, 24-bit PCM", 24}, {"sox16.aiff", "AIFF, 16-bit PCM", 16},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        TestBytes raw = {0};
        put_samples(&raw, 2 * FRAMES, cases[i].bits);
        const char *from = save(&raw, "samples.raw"), *to = test_path(cases[i].name);
        test_sox("-D -t raw -r %d -c 2 -e signed -b %u %s -b %u %s", RATE_HZ, cases[i].bits, from, cases[i].bits, to);
        expect_whole(to, cases[i].bits, cases[i].format);
    }
}
END_TEST

// Floating-point samples come as they stand: beyond full scale, not a number, infinite.
static const double floating[] = {0, 0.25, -1, 1.75, 1e-30, NAN, INFINITY, -INFINITY};
enum { FLOATING = sizeof floating / sizeof *floating };

static void expect_floating(const char *path, const char *format)
{
    DwSource *source = test_open(path);
    ck_assert_str_eq(dw_source_format(source), format);
    size_t frames;
    float *samples = test_read_all(source, 64, &frames, NULL);
    ck_assert_uint_eq(frames, FLOATING);
    for (size_t i = 0; i < FLOATING; i++)
        ck_assert_msg(samples[i] == (float)floating[i] || (isnan(samples[i]) && isnan(floating[i])), "%s: sample %zu",
                      path, i);
    free(samples);
    dw_source_close(source);
}

START_TEST(floating_samples_are_passed_through)
{
    TestBytes file = {0};
    test_put_wav_head(&file, &(TestWav){RATE_HZ, 1, 32, 3, FLOATING * 4});
    for (size_t i = 0; i < FLOATING; i++) {
        float single = (float)floating[i];
        uint32_t word;
        memcpy(&word, &single, sizeof word);
        test_put_number(&file, word, 4);
    }
    expect_floating(save(&file, "single.wav"), "WAV, 32-bit float");
    test_put_wav_head(&file, &(TestWav){RATE_HZ, 1, 64, 3, FLOATING * 8});
    for (size_t i = 0; i < FLOATING; i++) {
        uint64_t word;
        memcpy(&word, &floating[i], sizeof word);
        test_put_number(&file, word, 8);
    }
    expect_floating(save(&file, "double.wav"), "WAV, 64-bit float");
}
END_TEST

START_TEST(of_many_channels_the_first_two_are_used)
{
    enum { CHANNELS = 6, COUNT = 9000 };
    TestBytes file = {0};
    test_put_wav_head(&file, &(TestWav){RATE_HZ, CHANNELS, 16, 1, COUNT * CHANNELS * 2});
    put_samples(&file, COUNT * CHANNELS, 16);
    DwSource *source = test_open(save(&file, "six.wav"));
    ck_assert_uint_eq(dw_source_channels(source), 2);
    ck_assert_str_eq(test_remark(source), "The recording has 6 channels; the first two are used.");
    const DwSaying *remark = dw_source_remark(source, 0);
    ck_assert_str_eq(remark->pattern, "The recording has %u channels; the first two are used.");
    ck_assert_uint_eq(remark->part_count, 1);
    ck_assert_str_eq(remark->parts[0], "6");
    size_t frames;
    float *samples = test_read_all(source, 5000, &frames, NULL);
    ck_assert_uint_eq(frames, COUNT);
    for (unsigned i = 0; i < COUNT; i++)
        for (unsigned channel = 0; channel < 2; channel++)
            if (samples[2 * i + channel] != (float)ldexp(whole(i * CHANNELS + channel, 16), -15))
                ck_abort_msg("frame %u, channel %u", i, channel);
    free(samples);
    dw_source_close(source);
}
END_TEST

// What is told of a stereo 16-bit file whose header promises PROMISED bytes and
// that holds half a second.
static void expect_remark(uint32_t promised, const char *remark)
{
    TestBytes file = {0};
    test_put_wav_head(&file, &(TestWav){RATE_HZ, 2, 16, 1, promised});
    put_samples(&file, RATE_HZ, 16);
    DwSource *source = test_open(save(&file, "cut.wav"));
    ck_assert_int_eq(dw_source_frames(source), RATE_HZ / 2);
    ck_assert_str_eq(test_remark(source), remark);
    size_t frames;
    free(test_read_all(source, 4096, &frames, NULL));
    ck_assert_uint_eq(frames, RATE_HZ / 2);
    ck_assert_str_eq(test_remark(source), remark);
    dw_source_close(source);
}

START_TEST(a_wav_cut_off_in_its_samples_is_read_and_told)
{
    expect_remark(RATE_HZ * 2, "");
    expect_remark(RATE_HZ * 16, "The recording ends early: 0.5 of 4.0 seconds.");
    // Largest values are what recorders leave that write to a pipe.
    expect_remark(0xFFFFFFFF, "");
    expect_remark(0x7FFFFFFF, "");
}
END_TEST

START_TEST(an_rf64_cut_off_in_its_samples_is_read_and_told)
{
    TestBytes file = {0};
    put_rf64(&file, (uint64_t)6 * RATE_HZ * 36000); // ten hours, 20 GB
    put_samples(&file, 2 * RATE_HZ, 24);
    DwSource *source = test_open(save(&file, "cut.rf64"));
    ck_assert_str_eq(test_remark(source), "The recording ends early: 1.0 of 36000.0 seconds.");
    ck_assert_int_eq(dw_source_frames(source), RATE_HZ);
    dw_source_close(source);
}
END_TEST

START_TEST(a_flac_cut_off_in_its_samples_is_read_and_told)
{
    if (!test_has_sox())
        TEST_PASS_OVER("sox is not installed");
    const char *whole_path = test_path("whole.flac");
    test_sox("-n -r 48000 -c 2 -b 16 %s synth 4 whitenoise gain -6", whole_path);
    size_t count, frames;
    unsigned char *bytes = test_read(whole_path, &count);
    const char *path = test_path("cut.flac");
    test_write(path, bytes, count / 2);
    free(bytes);
    DwSource *source = test_open(path);
    free(test_read_all(source, 4096, &frames, NULL));
    ck_assert_uint_gt(frames, 48000);
    ck_assert_uint_lt(frames, 96001);
    char remark[200];
    snprintf(remark, sizeof remark, "The recording ends early or has holes: %.1f of 4.0 seconds could be read.",
             (double)frames / 48000);
    ck_assert_str_eq(test_remark(source), remark);
    // It comes out of the box with its parts, so that it is said in the reader's language.
    const DwSaying *said = dw_source_remark(source, 0);
    ck_assert_str_eq(said->pattern, "The recording ends early or has holes: %.1f of %.1f seconds could be read.");
    ck_assert_uint_eq(said->part_count, 2);
    ck_assert_str_eq(said->parts[1], "4.0");
    dw_source_close(source);
}
END_TEST

// Two seconds of 3150 Hz at half of full scale, encoded by GStreamer.
static void expect_tone(const char *encoder, const char *name, const char *format, size_t slack)
{
    const char *path = test_path(name);
    test_run_pipeline("audiotestsrc num-buffers=100 samplesperbuffer=960 freq=3150 volume=0.5 ! "
                      "audio/x-raw,rate=48000,channels=2 ! audioconvert ! %s ! filesink location=%s",
                      encoder, path);
    DwSource *source = test_open(path);
    ck_assert_str_eq(dw_source_format(source), format);
    ck_assert_double_eq(dw_source_rate_hz(source), 48000);
    ck_assert_uint_eq(dw_source_channels(source), 2);
    int64_t told = dw_source_frames(source);
    size_t frames;
    unsigned gaps;
    float *samples = test_read_all(source, 1000, &frames, &gaps);
    ck_assert(told == -1 || llabs(told - (int64_t)frames) <= (long long)slack);
    ck_assert_uint_ge(frames + slack, 96000);
    ck_assert_uint_le(frames, 96000 + slack);
    ck_assert_uint_eq(gaps, 0);
    for (unsigned channel = 0; channel < 2; channel++) {
        ck_assert_double_eq_tol(test_tone_hz(samples, frames, 2, channel, 48000), 3150, 0.05);
        ck_assert_double_eq_tol(test_peak(samples, frames, 2, channel), 0.5, 0.05);
    }
    ck_assert_str_eq(test_remark(source), "");
    free(samples);
    dw_source_close(source);
}

// A padded last frame stays in. Of a varying bit rate, with and without a first frame that tells the length.
START_TEST(mp3_keeps_length_and_tone)
{
    if (!test_has_element("lamemp3enc") || !test_has_element("xingmux") || !test_has_element("id3v2mux"))
        TEST_PASS_OVER("GStreamer's lamemp3enc, xingmux or id3v2mux is not installed");
    const char *format = "MPEG-1 Layer 3 (MP3)";
    expect_tone("lamemp3enc target=bitrate bitrate=256", "untold.mp3", format, 3 * 1152);
    expect_tone("lamemp3enc target=bitrate bitrate=256 ! xingmux", "told.mp3", format, 3 * 1152);
    expect_tone("lamemp3enc target=bitrate bitrate=256 cbr=true ! id3v2mux", "tagged.mp3", format, 3 * 1152);
}
END_TEST

START_TEST(vorbis_keeps_length_and_tone)
{
    if (!test_has_element("vorbisenc"))
        TEST_PASS_OVER("GStreamer's vorbisenc is not installed");
    expect_tone("vorbisenc quality=0.8 ! oggmux", "tone.ogg", "Ogg, Vorbis", 0);
}
END_TEST

START_TEST(opus_keeps_length_and_tone)
{
    if (!test_has_element("opusenc"))
        TEST_PASS_OVER("GStreamer's opusenc is not installed");
    // 20 ms frames: the last may be padded.
    expect_tone("opusenc bitrate=192000 ! oggmux", "tone.opus", "Ogg, Opus", 960);
}
END_TEST

DW_SUITE("file", wav_is_read_to_the_sample, rf64_is_read_to_the_sample, what_sox_wrote_is_read_to_the_sample,
         floating_samples_are_passed_through, of_many_channels_the_first_two_are_used,
         a_wav_cut_off_in_its_samples_is_read_and_told, an_rf64_cut_off_in_its_samples_is_read_and_told,
         a_flac_cut_off_in_its_samples_is_read_and_told, mp3_keeps_length_and_tone, vorbis_keeps_length_and_tone,
         opus_keeps_length_and_tone)
