// SPDX-License-Identifier: MIT
// What a source makes of a pipeline's discontinuities, errors and changes: the
// test pushes the buffers itself.
#include "audio/pipeline.h"
#include "support.h"
#include "support/suite.h"

#include <gst/app/gstappsrc.h>
#include <gst/audio/audio.h>
#include <string.h>

enum { BLOCK = 100, RATE_HZ = 48000 };

typedef struct {
    GstElement *pipeline;
    GstAppSrc *input;
} Feed;

static GstCaps *mono(int rate_hz)
{
    return gst_caps_new_simple("audio/x-raw", "format", G_TYPE_STRING, GST_AUDIO_NE(F32), "layout", G_TYPE_STRING,
                               "interleaved", "rate", G_TYPE_INT, rate_hz, "channels", G_TYPE_INT, 1, NULL);
}

static Feed start_feed(void)
{
    DwMessage message = {""};
    ck_assert_int_eq(dw_pipeline_start(&message), DW_OK);
    Feed feed = {.pipeline = gst_pipeline_new(NULL)};
    GstElement *input = dw_pipeline_add(feed.pipeline, "appsrc", NULL, &message);
    GstElement *end = dw_pipeline_add_end(feed.pipeline, 64, false, &message);
    ck_assert(input && end && gst_element_link(input, end));
    feed.input = GST_APP_SRC(input);
    GstCaps *caps = mono(RATE_HZ);
    g_object_set(input, "caps", caps, "format", GST_FORMAT_TIME, NULL);
    gst_caps_unref(caps);
    return feed;
}

// A block whose samples count on from FIRST, in thousandths.
static void push_block(Feed *feed, unsigned first, bool is_discontinuous)
{
    GstBuffer *buffer = gst_buffer_new_allocate(NULL, BLOCK * sizeof(float), NULL);
    float samples[BLOCK];
    for (unsigned i = 0; i < BLOCK; i++)
        samples[i] = (float)(first + i) / 1000;
    gst_buffer_fill(buffer, 0, samples, sizeof samples);
    if (is_discontinuous)
        GST_BUFFER_FLAG_SET(buffer, GST_BUFFER_FLAG_DISCONT);
    ck_assert_int_eq(gst_app_src_push_buffer(feed->input, buffer), GST_FLOW_OK);
}

static DwSource *open_feed(Feed *feed, DwPipelineKind kind)
{
    DwSource *source = NULL;
    DwMessage message = {""};
    ck_assert_msg(dw_pipeline_open(feed->pipeline, kind, "fed by hand", NULL, &source, &message) == DW_OK, "%s",
                  message.text);
    return source;
}

// The next block of at most FRAMES frames starts at FIRST and is COUNT long.
static void expect_block(DwSource *source, size_t frames, unsigned first, size_t count, unsigned flags)
{
    float samples[1000];
    size_t got;
    unsigned found;
    DwMessage message = {""};
    ck_assert_msg(dw_source_read(source, samples, frames, &got, &found, &message) == DW_OK, "%s", message.text);
    ck_assert_uint_eq(got, count);
    ck_assert_uint_eq(found, flags);
    for (size_t i = 0; i < got; i++)
        ck_assert_float_eq(samples[i], (float)(first + i) / 1000);
}

START_TEST(a_gap_is_flagged_where_it_is)
{
    Feed feed = start_feed();
    push_block(&feed, 0, true); // every stream starts so: no gap
    push_block(&feed, 100, false);
    push_block(&feed, 500, true);
    push_block(&feed, 600, false);
    gst_app_src_end_of_stream(feed.input);
    DwSource *source = open_feed(&feed, DW_PIPELINE_RECORDING);
    ck_assert_str_eq(dw_source_format(source), "fed by hand");
    ck_assert_uint_eq(dw_source_channels(source), 1);
    expect_block(source, 150, 0, 150, 0);
    expect_block(source, 150, 150, 50, 0); // stops before the gap
    expect_block(source, 150, 500, 150, DW_SOURCE_GAP);
    expect_block(source, 150, 650, 50, 0);
    expect_block(source, 150, 0, 0, 0);
    expect_block(source, 150, 0, 0, 0); // and again
    dw_source_close(source);
}
END_TEST

START_TEST(a_live_read_returns_what_has_come)
{
    Feed feed = start_feed();
    push_block(&feed, 0, false);
    DwSource *source = open_feed(&feed, DW_PIPELINE_LIVE);
    expect_block(source, 1000, 0, 100, 0);
    push_block(&feed, 100, false);
    expect_block(source, 30, 100, 30, 0);
    expect_block(source, 1000, 130, 70, 0);
    dw_source_close(source);
}
END_TEST

// After the good samples are read, an error of the pipeline is told.
static void break_feed(Feed *feed)
{
    GST_ELEMENT_ERROR(feed->input, STREAM, FAILED, ("The lead was pulled out."), (NULL));
}

START_TEST(a_live_input_that_breaks_fails)
{
    Feed feed = start_feed();
    push_block(&feed, 0, false);
    DwSource *source = open_feed(&feed, DW_PIPELINE_LIVE);
    break_feed(&feed);
    expect_block(source, 100, 0, 100, 0);
    float samples[100];
    size_t got;
    DwMessage message = {""};
    ck_assert_int_eq(dw_source_read(source, samples, 100, &got, NULL, &message), DW_FAILED);
    ck_assert_str_eq(message.text, "The live input stopped (The lead was pulled out). Check the cable and the device, "
                                   "then start again.");
    dw_source_close(source);
}
END_TEST

START_TEST(a_recording_that_breaks_is_read_so_far)
{
    Feed feed = start_feed();
    push_block(&feed, 0, false);
    DwSource *source = open_feed(&feed, DW_PIPELINE_RECORDING);
    break_feed(&feed);
    expect_block(source, 1000, 0, 100, 0);
    expect_block(source, 1000, 0, 0, 0);
    ck_assert_str_eq(test_remark(source), "Reading stopped after 0.0 seconds (The lead was pulled out).");
    dw_source_close(source);
}
END_TEST

// Some demultiplexers hand over buffers with nothing in them.
START_TEST(an_empty_buffer_is_passed_over)
{
    Feed feed = start_feed();
    push_block(&feed, 0, false);
    ck_assert_int_eq(gst_app_src_push_buffer(feed.input, gst_buffer_new()), GST_FLOW_OK);
    push_block(&feed, 100, false);
    gst_app_src_end_of_stream(feed.input);
    DwSource *source = open_feed(&feed, DW_PIPELINE_RECORDING);
    expect_block(source, 1000, 0, 200, 0);
    expect_block(source, 1000, 0, 0, 0);
    dw_source_close(source);
}
END_TEST

START_TEST(a_rate_that_changes_ends_the_recording)
{
    Feed feed = start_feed();
    push_block(&feed, 0, false);
    GstCaps *caps = mono(2 * RATE_HZ);
    gst_app_src_set_caps(feed.input, caps);
    gst_caps_unref(caps);
    push_block(&feed, 100, false);
    gst_app_src_end_of_stream(feed.input);
    DwSource *source = open_feed(&feed, DW_PIPELINE_RECORDING);
    expect_block(source, 1000, 0, 100, 0);
    expect_block(source, 1000, 0, 0, 0);
    ck_assert_msg(strstr(test_remark(source), "the sampling rate or the channels change"), "%s", test_remark(source));
    dw_source_close(source);
}
END_TEST

DW_SUITE("pipeline", a_gap_is_flagged_where_it_is, a_live_read_returns_what_has_come, a_live_input_that_breaks_fails,
         a_recording_that_breaks_is_read_so_far, an_empty_buffer_is_passed_over, a_rate_that_changes_ends_the_recording)
