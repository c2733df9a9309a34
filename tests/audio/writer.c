// SPDX-License-Identifier: MIT
#include "audio/writer.h"
#include "audio/source.h"
#include "support.h"
#include "support/suite.h"

#include <math.h>
#include <signal.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

enum { FRAMES = 5000, RATE_HZ = 96000 };

// Stereo samples on the steps of BITS bits, both ends of the scale among them.
static void fill_steps(float *samples, unsigned bits)
{
    for (uint32_t i = 0; i < 2 * FRAMES; i++) {
        int32_t step = (int32_t)(i * 2654435761u) >> (32 - bits);
        samples[i] = (float)ldexp(step, 1 - (int)bits);
    }
    samples[0] = -1;
    samples[1] = (float)(1 - ldexp(1, 1 - (int)bits));
}

// Written in uneven blocks, so that none of them falls on the writer's own.
static void write_file(const char *path, DwEncoding encoding, const float *samples, size_t frames)
{
    DwWriter *writer = NULL;
    DwMessage message = {""};
    ck_assert_msg(dw_writer_open(path, RATE_HZ, 2, encoding, &writer, &message) == DW_OK, "%s", message.text);
    for (size_t done = 0; done < frames;) {
        size_t count = done % 3 ? 17 : 3001;
        count = count < frames - done ? count : frames - done;
        ck_assert_msg(dw_writer_push(writer, samples + 2 * done, count, &message) == DW_OK, "%s", message.text);
        done += count;
    }
    ck_assert_uint_eq(dw_writer_limited(writer), 0);
    ck_assert_msg(dw_writer_close(writer, &message) == DW_OK, "%s", message.text);
}

static const struct {
    const char *name, *format;
    DwEncoding encoding;
    unsigned bits;
} exact[] = {
    {"out.wav", "WAV, 24-bit PCM", DW_ENCODING_24_BIT, 24},
    {"out16.wav", "WAV, 16-bit PCM", DW_ENCODING_16_BIT, 16},
    {"float.wav", "WAV, 32-bit float", DW_ENCODING_FLOAT, 24},
    {"out.FLAC", "FLAC, 24-bit PCM", DW_ENCODING_24_BIT, 24},
    {"out16.flac", "FLAC, 16-bit PCM", DW_ENCODING_16_BIT, 16},
    {"out.aiff", "AIFF, 24-bit PCM", DW_ENCODING_24_BIT, 24},
    {"out.aif", "AIFF, 24-bit PCM", DW_ENCODING_24_BIT, 24},
    {"float.aiff", "AIFF, 32-bit float", DW_ENCODING_FLOAT, 24},
};
enum { EXACT = sizeof exact / sizeof *exact };

START_TEST(what_was_written_is_read_to_the_sample)
{
    float samples[2 * FRAMES];
    for (size_t i = 0; i < EXACT; i++) {
        fill_steps(samples, exact[i].bits);
        const char *path = test_path(exact[i].name);
        write_file(path, exact[i].encoding, samples, FRAMES);
        DwSource *source = test_open(path);
        ck_assert_str_eq(dw_source_format(source), exact[i].format);
        ck_assert_double_eq(dw_source_rate_hz(source), RATE_HZ);
        ck_assert_str_eq(test_remark(source), "");
        size_t frames;
        float *back = test_read_all(source, 1024, &frames, NULL);
        ck_assert_uint_eq(frames, FRAMES);
        ck_assert_msg(memcmp(back, samples, sizeof samples) == 0, "%s", path);
        free(back);
        dw_source_close(source);
    }
}
END_TEST

// The outside reader turns each file into 32-bit words, which are the steps
// shifted to the top.
START_TEST(sox_reads_what_was_written_to_the_sample)
{
    if (!test_has_sox())
        TEST_PASS_OVER("sox is not installed");
    float samples[2 * FRAMES];
    for (size_t i = 0; i < EXACT; i++) {
        fill_steps(samples, exact[i].bits);
        const char *path = test_path(exact[i].name), *raw = test_path("back.raw");
        write_file(path, exact[i].encoding, samples, FRAMES);
        test_sox("-D %s -t raw -e signed -b 32 %s", path, raw);
        size_t count;
        unsigned char *bytes = test_read(raw, &count);
        ck_assert_uint_eq(count, sizeof samples);
        for (size_t k = 0; k < 2 * FRAMES; k++) {
            int32_t word;
            memcpy(&word, bytes + 4 * k, 4);
            if (word != (int32_t)llrint(ldexp((double)samples[k], 31)))
                ck_abort_msg("%s: sample %zu", path, k);
        }
        free(bytes);
    }
}
END_TEST

START_TEST(a_small_wav_is_a_plain_wav)
{
    float samples[2 * FRAMES] = {0};
    write_file(test_path("plain.wav"), DW_ENCODING_24_BIT, samples, FRAMES);
    size_t count;
    unsigned char *bytes = test_read(test_path("plain.wav"), &count);
    ck_assert_mem_eq(bytes, "RIFF", 4);
    free(bytes);
}
END_TEST

START_TEST(vorbis_keeps_length_and_tone)
{
    float samples[2 * RATE_HZ];
    for (size_t i = 0; i < 2 * RATE_HZ; i++)
        samples[i] = (float)(0.5 * sin(2 * M_PI * 3150 * (double)(i / 2) / RATE_HZ));
    write_file(test_path("out.ogg"), DW_ENCODING_24_BIT, samples, RATE_HZ);
    DwSource *source = test_open(test_path("out.ogg"));
    size_t frames;
    float *back = test_read_all(source, 1024, &frames, NULL);
    ck_assert_uint_eq(frames, RATE_HZ);
    ck_assert_double_eq_tol(test_tone_hz(back, frames, 2, 1, RATE_HZ), 3150, 0.05);
    ck_assert_double_eq_tol(test_peak(back, frames, 2, 0), 0.5, 0.02);
    free(back);
    dw_source_close(source);
}
END_TEST

START_TEST(beyond_full_scale_is_limited_and_counted)
{
    const float samples[] = {1.5f, -1.5f, 1.0f, 0.5f};
    const char *path = test_path("loud.wav");
    DwWriter *writer;
    ck_assert_int_eq(dw_writer_open(path, 48000, 1, DW_ENCODING_16_BIT, &writer, NULL), DW_OK);
    ck_assert_int_eq(dw_writer_push(writer, samples, 4, NULL), DW_OK);
    ck_assert_uint_eq(dw_writer_limited(writer), 3);
    ck_assert_int_eq(dw_writer_close(writer, NULL), DW_OK);
    DwSource *source = test_open(path);
    size_t frames;
    float *back = test_read_all(source, 16, &frames, NULL);
    const float limited[] = {32767.0f / 32768, -1, 32767.0f / 32768, 0.5f};
    ck_assert_mem_eq(back, limited, sizeof limited);
    free(back);
    dw_source_close(source);
}
END_TEST

// Nothing but the file that was there before, unchanged.
static void expect_untouched(const char *path, size_t files)
{
    size_t count;
    ck_assert_uint_eq(test_count_files(), files);
    unsigned char *bytes = test_read(path, &count);
    ck_assert_uint_eq(count, 3);
    ck_assert_mem_eq(bytes, "old", 3);
    free(bytes);
}

START_TEST(an_abandoned_file_was_never_there)
{
    const float samples[] = {0.1f, 0.2f, NAN, 0.4f};
    const char *path = test_path("kept.wav");
    test_write(path, "old", 3);
    size_t files = test_count_files();
    DwWriter *writer;
    DwMessage message = {""};
    ck_assert_int_eq(dw_writer_open(path, 48000, 2, DW_ENCODING_24_BIT, &writer, NULL), DW_OK);
    ck_assert_int_eq(dw_writer_push(writer, samples, 1, NULL), DW_OK);
    // The one that grows has no name where the disk knows such files.
    size_t growing = test_count_files();
    ck_assert(growing == files || growing == files + 1);
    expect_untouched(path, growing);
    ck_assert_int_eq(dw_writer_push(writer, samples, 2, &message), DW_BAD_INPUT);
    ck_assert_msg(strstr(message.text, "not a finite number"), "%s", message.text);
    dw_writer_abandon(writer);
    expect_untouched(path, files);
    dw_writer_abandon(NULL);
}
END_TEST

START_TEST(a_closed_file_takes_the_place_of_the_older_one)
{
    const char *path = test_path("replaced.wav");
    test_write(path, "old", 3);
    size_t files = test_count_files();
    float samples[2 * FRAMES] = {0};
    write_file(path, DW_ENCODING_24_BIT, samples, FRAMES);
    ck_assert_uint_eq(test_count_files(), files);
    DwSource *source = test_open(path);
    ck_assert_int_eq(dw_source_frames(source), FRAMES);
    dw_source_close(source);
    struct stat about;
    ck_assert_int_eq(stat(path, &about), 0);
    mode_t mask = umask(0);
    umask(mask);
    ck_assert_int_eq(about.st_mode & 0777, 0666 & ~mask);
}
END_TEST

// A disk that fills up, by a limit on the size of files.
START_TEST(a_full_disk_leaves_nothing_behind)
{
    static const char *const names[] = {"full.wav", "full.flac", "full.aiff", "full.ogg"};
    static float samples[2 * 20000];
    for (size_t i = 0; i < 2 * 20000; i++)
        samples[i] = (float)((int32_t)((uint32_t)i * 2654435761u) / 4294967296.0);
    signal(SIGXFSZ, SIG_IGN);
    struct rlimit before, small;
    getrlimit(RLIMIT_FSIZE, &before);
    small = before;
    small.rlim_cur = 20000;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const char *path = test_path(names[i]);
        test_write(path, "old", 3);
        size_t files = test_count_files();
        DwWriter *writer;
        DwMessage message = {""};
        ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &small), 0);
        ck_assert_int_eq(dw_writer_open(path, 48000, 2, DW_ENCODING_24_BIT, &writer, &message), DW_OK);
        DwStatus status = dw_writer_push(writer, samples, 20000, &message);
        if (status == DW_OK)
            status = dw_writer_close(writer, &message);
        else
            dw_writer_abandon(writer);
        ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &before), 0);
        ck_assert_msg(status == DW_FAILED, "%s", path);
        ck_assert_msg(strstr(message.text, "writing failed (File too large). Make room"), "%s", message.text);
        expect_untouched(path, files);
    }
}
END_TEST

static void expect_refusal(const char *name, double rate_hz, unsigned channels, DwEncoding encoding, DwStatus status,
                           const char *what)
{
    DwWriter *writer = NULL;
    DwMessage message = {""};
    size_t files = test_count_files();
    ck_assert_int_eq(dw_writer_open(test_path(name), rate_hz, channels, encoding, &writer, &message), status);
    ck_assert_ptr_null(writer);
    ck_assert_msg(strstr(message.text, what), "%s", message.text);
    ck_assert_uint_eq(test_count_files(), files);
}

START_TEST(what_a_format_cannot_hold_is_refused)
{
    expect_refusal("out.mp3", 48000, 2, DW_ENCODING_24_BIT, DW_BAD_INPUT, "Use .wav, .flac");
    expect_refusal("out", 48000, 2, DW_ENCODING_24_BIT, DW_BAD_INPUT, "Use .wav, .flac");
    expect_refusal("out.flac", 48000, 2, DW_ENCODING_FLOAT, DW_BAD_INPUT, "no such encoding");
    expect_refusal("out.ogg", 48000, 2, DW_ENCODING_16_BIT, DW_BAD_INPUT, "no such encoding");
    expect_refusal("out.wav", 44100.5, 2, DW_ENCODING_24_BIT, DW_BAD_INPUT, "44100.5 Hz");
    expect_refusal("out.wav", 48000, 0, DW_ENCODING_24_BIT, DW_BAD_INPUT, "0 channels");
    expect_refusal("nowhere/out.wav", 48000, 2, DW_ENCODING_24_BIT, DW_FAILED, "Choose a folder");
    ck_assert_int_eq(mkdir(test_path("folder.wav"), 0700), 0);
    expect_refusal("folder.wav", 48000, 2, DW_ENCODING_24_BIT, DW_BAD_INPUT, "Give another name");
}
END_TEST

DW_SUITE("writer", what_was_written_is_read_to_the_sample, sox_reads_what_was_written_to_the_sample,
         a_small_wav_is_a_plain_wav, vorbis_keeps_length_and_tone, beyond_full_scale_is_limited_and_counted,
         an_abandoned_file_was_never_there, a_closed_file_takes_the_place_of_the_older_one,
         a_full_disk_leaves_nothing_behind, what_a_format_cannot_hold_is_refused)
