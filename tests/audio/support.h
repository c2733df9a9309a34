// SPDX-License-Identifier: MIT
// What the tests of sound files share: a folder to write in, files made byte by
// byte or by an outside program, and a look at a tone without a spectrum.
#ifndef DW_TESTS_AUDIO_SUPPORT_H
#define DW_TESTS_AUDIO_SUPPORT_H

#include "audio/source.h"

#include <stdbool.h>
#include <stdio.h>

// Passes a test over, by name, for want of something on this machine.
#define TEST_PASS_OVER(reason)                                                                                         \
    do {                                                                                                               \
        printf("# passed over in %s: %s\n", __func__, reason);                                                         \
        return;                                                                                                        \
    } while (0)

// NAME in this program's own new folder, which is removed at its end. Valid
// until eight more calls.
const char *test_path(const char *name);
void test_write(const char *path, const void *bytes, size_t count);
// The bytes of the file at PATH. The caller frees them with free().
unsigned char *test_read(const char *path, size_t *count);
// Entries in the program's folder, hidden ones too.
size_t test_count_files(void);

// Bytes of a growing file.
typedef struct {
    unsigned char *bytes;
    size_t count, room;
} TestBytes;

void test_put(TestBytes *file, const void *bytes, size_t count);
// COUNT bytes of VALUE, lowest first.
void test_put_number(TestBytes *file, uint64_t value, size_t count);

typedef struct {
    unsigned rate_hz, channels, bits, tag; // tag 1: whole numbers, 3: float
    uint32_t data_bytes;                   // what the header promises
} TestWav;

// The 44 bytes at the head of a plain WAV file.
void test_put_wav_head(TestBytes *file, const TestWav *head);

// Whether sox is here; if so, runs it with ARGUMENTS, which must succeed.
bool test_has_sox(void);
void test_sox(const char *format, ...) __attribute__((format(printf, 1, 2)));

// Whether GStreamer has the element called NAME.
bool test_has_element(const char *name);
// Runs the pipeline that DESCRIPTION gives to its end, which must come.
void test_run_pipeline(const char *format, ...) __attribute__((format(printf, 1, 2)));

// All that SOURCE gives, read in blocks of BLOCK frames; the caller frees it
// with free(). *GAPS counts the gap flags and may be NULL.
float *test_read_all(DwSource *source, size_t block, size_t *frames, unsigned *gaps);
// Opens PATH, which must succeed.
DwSource *test_open(const char *path);
// The one sentence that SOURCE remarks on, "" for none; there must not be two. Valid as dw_source_remark() says.
const char *test_remark(const DwSource *source);

// The frequency of a steady tone in CHANNEL of CHANNELS, from the first to the
// last rising zero crossing of the middle eight tenths, each interpolated.
double test_tone_hz(const float *samples, size_t frames, unsigned channels, unsigned channel, double rate_hz);
// The largest magnitude in the same stretch.
double test_peak(const float *samples, size_t frames, unsigned channels, unsigned channel);

#endif
