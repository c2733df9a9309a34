// SPDX-License-Identifier: MIT
#include "support.h"

#include <check.h>
#include <dirent.h>
#include <gst/gst.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char folder[64];

static void remove_folder(void)
{
    DIR *open_folder = opendir(folder);
    struct dirent *entry = open_folder ? readdir(open_folder) : NULL;
    for (; entry; entry = readdir(open_folder)) {
        char path[400];
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0)
            remove(path);
    }
    if (open_folder)
        closedir(open_folder);
    rmdir(folder);
}

const char *test_path(const char *name)
{
    static char paths[8][400];
    static unsigned turn;
    if (!folder[0]) {
        strcpy(folder, P_tmpdir "/deckwright-test-XXXXXX");
        ck_assert_ptr_nonnull(mkdtemp(folder));
        atexit(remove_folder);
    }
    turn = (turn + 1) % 8;
    snprintf(paths[turn], sizeof paths[turn], "%s/%s", folder, name);
    return paths[turn];
}

void test_write(const char *path, const void *bytes, size_t count)
{
    FILE *file = fopen(path, "wb");
    ck_assert_ptr_nonnull(file);
    ck_assert_uint_eq(fwrite(bytes, 1, count, file), count);
    ck_assert_int_eq(fclose(file), 0);
}

unsigned char *test_read(const char *path, size_t *count)
{
    FILE *file = fopen(path, "rb");
    ck_assert_msg(file, "%s", path);
    fseek(file, 0, SEEK_END);
    *count = (size_t)ftell(file);
    rewind(file);
    unsigned char *bytes = malloc(*count + 1);
    ck_assert_uint_eq(fread(bytes, 1, *count, file), *count);
    fclose(file);
    return bytes;
}

size_t test_count_files(void)
{
    test_path("");
    DIR *open_folder = opendir(folder);
    size_t count = 0;
    while (readdir(open_folder))
        count++;
    closedir(open_folder);
    return count - 2; // itself and the folder above
}

void test_put(TestBytes *file, const void *bytes, size_t count)
{
    if (file->count + count > file->room) {
        file->room = 2 * (file->count + count);
        file->bytes = realloc(file->bytes, file->room);
    }
    memcpy(file->bytes + file->count, bytes, count);
    file->count += count;
}

void test_put_number(TestBytes *file, uint64_t value, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        unsigned char byte = (unsigned char)(value >> (8 * i));
        test_put(file, &byte, 1);
    }
}

void test_put_wav_head(TestBytes *file, const TestWav *head)
{
    unsigned frame = head->channels * head->bits / 8;
    test_put(file, "RIFF", 4);
    test_put_number(file, (uint64_t)head->data_bytes + 36, 4);
    test_put(file, "WAVEfmt ", 8);
    test_put_number(file, 16, 4);
    test_put_number(file, head->tag, 2);
    test_put_number(file, head->channels, 2);
    test_put_number(file, head->rate_hz, 4);
    test_put_number(file, (uint64_t)head->rate_hz * frame, 4);
    test_put_number(file, frame, 2);
    test_put_number(file, head->bits, 2);
    test_put(file, "data", 4);
    test_put_number(file, head->data_bytes, 4);
}

bool test_has_sox(void)
{
#ifdef DW_SOX
    return true;
#else
    return false;
#endif
}

void test_sox(const char *format, ...)
{
#ifdef DW_SOX
    char command[1500] = DW_SOX " -V1 ";
    size_t length = strlen(command);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(command + length, sizeof command - length, format, arguments);
    va_end(arguments);
    ck_assert_msg(system(command) == 0, "%s", command);
#else
    (void)format;
    ck_abort_msg("asked for sox without looking whether it is here");
#endif
}

bool test_has_element(const char *name)
{
    gst_init(NULL, NULL);
    GstElementFactory *factory = gst_element_factory_find(name);
    if (factory)
        gst_object_unref(factory);
    return factory;
}

void test_run_pipeline(const char *format, ...)
{
    char description[1500];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(description, sizeof description, format, arguments);
    va_end(arguments);
    gst_init(NULL, NULL);
    GError *error = NULL;
    GstElement *pipeline = gst_parse_launch(description, &error);
    ck_assert_msg(pipeline && !error, "%s: %s", description, error ? error->message : "");
    gst_element_set_state(pipeline, GST_STATE_PLAYING);
    GstBus *bus = gst_element_get_bus(pipeline);
    GstMessage *end = gst_bus_timed_pop_filtered(bus, 60 * GST_SECOND, GST_MESSAGE_EOS | GST_MESSAGE_ERROR);
    ck_assert_msg(end && GST_MESSAGE_TYPE(end) == GST_MESSAGE_EOS, "%s", description);
    gst_message_unref(end);
    gst_object_unref(bus);
    gst_element_set_state(pipeline, GST_STATE_NULL);
    gst_object_unref(pipeline);
}

float *test_read_all(DwSource *source, size_t block, size_t *frames, unsigned *gaps)
{
    unsigned channels = dw_source_channels(source);
    float *samples = NULL;
    size_t got = 1;
    *frames = 0;
    unsigned found = 0;
    while (got > 0) {
        samples = realloc(samples, (*frames + block) * channels * sizeof *samples);
        unsigned flags = 0;
        DwMessage message = {""};
        DwStatus status = dw_source_read(source, samples + *frames * channels, block, &got, &flags, &message);
        ck_assert_msg(status == DW_OK, "%s", message.text);
        ck_assert_uint_le(got, block);
        *frames += got;
        found += (flags & DW_SOURCE_GAP) != 0;
    }
    if (gaps)
        *gaps = found;
    return samples;
}

const char *test_remark(const DwSource *source)
{
    const DwSaying *first = dw_source_remark(source, 0);
    ck_assert_ptr_null(dw_source_remark(source, 1));
    return first ? first->text : "";
}

DwSource *test_open(const char *path)
{
    DwSource *source = NULL;
    DwMessage message = {""};
    ck_assert_msg(dw_source_open(path, &source, &message) == DW_OK, "%s", message.text);
    return source;
}

double test_tone_hz(const float *samples, size_t frames, unsigned channels, unsigned channel, double rate_hz)
{
    double first = -1, last = -1;
    unsigned periods = 0;
    for (size_t i = frames / 10 + 1; i < frames - frames / 10; i++) {
        double before = samples[(i - 1) * channels + channel], after = samples[i * channels + channel];
        if (before >= 0 || after < 0)
            continue;
        last = (double)i - after / (after - before);
        if (first < 0)
            first = last;
        else
            periods++;
    }
    return periods ? periods * rate_hz / (last - first) : 0;
}

double test_peak(const float *samples, size_t frames, unsigned channels, unsigned channel)
{
    double peak = 0;
    for (size_t i = frames / 10; i < frames - frames / 10; i++)
        peak = fmax(peak, fabs(samples[i * channels + channel]));
    return peak;
}
