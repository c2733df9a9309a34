// SPDX-License-Identifier: MIT
#include "audio/pipeline.h"

#include "audio/driver.h"
#include "base/memory.h"
#include "base/tongue.h"

#include <gst/app/gstappsink.h>
#include <gst/audio/audio.h>
#include <gst/pbutils/pbutils.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// A decoder that is silent this long will not speak again; nor will a device.
#define PATIENCE (8 * GST_SECOND)
#define PATIENCE_LIVE (4 * GST_SECOND)
// How often a wait looks for errors.
#define GLANCE (5 * GST_MSECOND)

enum { IDLE_GLANCES = 10, CHANNELS_MOST = 63 };

typedef struct {
    GstElement *pipeline;
    GstAppSink *sink;
    GstBus *bus;
    DwPipelineKind kind;
    GstCaps *caps; // of the first samples; the same to the end
    size_t frame_bytes;
    GstSample *sample; // being handed on, or NULL
    GstMapInfo map;
    size_t offset; // bytes of it handed on
    int64_t ahead; // frames still to come that a codec put ahead of the sound
    bool begun;    // the first sample was taken
    bool gap;      // samples are missing before `sample`
    bool ended;
    bool broken;  // an error was told; `why` says which
    bool missing; // a decoder is not installed
    char why[300];
    char codec[70], container[70];
} PipelineState;

static const char end_name[] = "end";
static pthread_once_t start_once = PTHREAD_ONCE_INIT;
static char start_trouble[200];

static void start(void)
{
    // The program keeps its own signal handlers and makes no child processes.
    gst_segtrap_set_enabled(FALSE);
    gst_registry_fork_set_enabled(FALSE);
    GError *error = NULL;
    if (!gst_init_check(NULL, NULL, &error))
        snprintf(start_trouble, sizeof start_trouble, "%s", error ? error->message : "unknown reason");
    else
        gst_pb_utils_init();
    g_clear_error(&error);
}

DwStatus dw_pipeline_start(DwMessage *message)
{
    pthread_once(&start_once, start);
    if (start_trouble[0])
        return dw_fail(message, DW_FAILED, "GStreamer does not start (%s). Install it again.", start_trouble);
    return DW_OK;
}

GstElement *dw_pipeline_add(GstElement *pipeline, const char *kind, const char *name, DwMessage *message)
{
    GstElement *element = gst_element_factory_make(kind, name);
    if (!element) {
        dw_fail(message, DW_FAILED,
                "GStreamer's part \"%s\" is not installed. Install gstreamer1.0-plugins-base and "
                "gstreamer1.0-plugins-good.",
                kind);
        return NULL;
    }
    gst_bin_add(GST_BIN(pipeline), element);
    return element;
}

// GStreamer's locks hand a buffer from its thread to ours, and the thread sanitizer does not see them: it is told of
// each buffer before the sink has it, and when it was pulled.
#ifdef __SANITIZE_THREAD__
void __tsan_acquire(void *address);
void __tsan_release(void *address);

static GstPadProbeReturn tell_given(GstPad *pad, GstPadProbeInfo *info, gpointer data)
{
    (void)pad;
    (void)data;
    __tsan_release(GST_PAD_PROBE_INFO_BUFFER(info));
    return GST_PAD_PROBE_OK;
}

static void watch_hand_over(GstElement *sink)
{
    GstPad *pad = gst_element_get_static_pad(sink, "sink");
    gst_pad_add_probe(pad, GST_PAD_PROBE_TYPE_BUFFER, tell_given, NULL, NULL);
    gst_object_unref(pad);
}

static void tell_taken(GstSample *sample)
{
    if (gst_sample_get_buffer(sample))
        __tsan_acquire(gst_sample_get_buffer(sample));
}
#else
static void watch_hand_over(GstElement *sink)
{
    (void)sink;
}

static void tell_taken(GstSample *sample)
{
    (void)sample;
}
#endif

GstElement *dw_pipeline_add_end(GstElement *pipeline, unsigned buffers, bool clocked, DwMessage *message)
{
    GstElement *entry = dw_pipeline_add(pipeline, "capsfilter", NULL, message);
    GstElement *convert = entry ? dw_pipeline_add(pipeline, "audioconvert", NULL, message) : NULL;
    GstElement *sink = convert ? dw_pipeline_add(pipeline, "appsink", end_name, message) : NULL;
    if (!sink)
        return NULL;
    GstCaps *caps = gst_caps_new_simple("audio/x-raw", "format", G_TYPE_STRING, GST_AUDIO_NE(F32), "layout",
                                        G_TYPE_STRING, "interleaved", NULL);
    g_object_set(sink, "caps", caps, "max-buffers", buffers, "drop", FALSE, "sync", (gboolean)clocked, NULL);
    gst_caps_unref(caps);
    // audioconvert crashes on more channels; a damaged head may claim any number.
    caps = gst_caps_new_simple("audio/x-raw", "channels", GST_TYPE_INT_RANGE, 1, CHANNELS_MOST, NULL);
    g_object_set(entry, "caps", caps, NULL);
    gst_caps_unref(caps);
    gst_element_link_many(entry, convert, sink, NULL);
    watch_hand_over(sink);
    return entry;
}

static GstClockTime patience(const PipelineState *state)
{
    return state->kind == DW_PIPELINE_LIVE ? PATIENCE_LIVE : PATIENCE;
}

static void release_sample(PipelineState *state)
{
    if (!state->sample)
        return;
    gst_buffer_unmap(gst_sample_get_buffer(state->sample), &state->map);
    gst_sample_unref(state->sample);
    state->sample = NULL;
}

static void close_pipeline(void *opaque)
{
    PipelineState *state = opaque;
    release_sample(state);
    gst_element_set_state(state->pipeline, GST_STATE_NULL);
    gst_clear_caps(&state->caps);
    gst_clear_object(&state->bus);
    gst_clear_object(&state->sink);
    gst_object_unref(state->pipeline);
    free(state);
}

static void note_text(const GstTagList *tags, const char *tag, char *words, size_t size)
{
    char *value = NULL;
    if (!words[0] && gst_tag_list_get_string(tags, tag, &value))
        snprintf(words, size, "%s", value);
    g_free(value);
}

static void note_tags(PipelineState *state, GstMessage *news)
{
    GstTagList *tags = NULL;
    gst_message_parse_tag(news, &tags);
    note_text(tags, GST_TAG_AUDIO_CODEC, state->codec, sizeof state->codec);
    note_text(tags, GST_TAG_CONTAINER_FORMAT, state->container, sizeof state->container);
    gst_tag_list_unref(tags);
}

// Keeps the first reason: what follows it is its consequence.
static void note_error(PipelineState *state, GstMessage *news)
{
    GError *error = NULL;
    gst_message_parse_error(news, &error, NULL);
    // A decoder is asked for sound alone: when it finds none it blames a part
    // that it does not name.
    bool is_soundless = g_error_matches(error, GST_CORE_ERROR, GST_CORE_ERROR_MISSING_PLUGIN);
    if (!state->why[0])
        snprintf(state->why, sizeof state->why, "%s",
                 is_soundless ? "it holds no sound that can be read" : error->message);
    // One line, without the full stop that would stand inside brackets.
    g_strdelimit(state->why, "\n\r", ' ');
    size_t length = strlen(state->why);
    if (length > 0 && state->why[length - 1] == '.')
        state->why[length - 1] = '\0';
    g_error_free(error);
}

static void note_missing(PipelineState *state, GstMessage *news)
{
    char *description = gst_missing_plugin_message_get_description(news);
    state->missing = true;
    snprintf(state->why, sizeof state->why, "%s", description ? description : "decoder");
    g_free(description);
}

// Takes what the pipeline has told so far.
static void hear_news(PipelineState *state)
{
    GstMessage *news = gst_bus_pop(state->bus);
    while (news) {
        if (GST_MESSAGE_TYPE(news) == GST_MESSAGE_TAG)
            note_tags(state, news);
        else if (gst_is_missing_plugin_message(news))
            note_missing(state, news);
        else if (GST_MESSAGE_TYPE(news) == GST_MESSAGE_ERROR) {
            note_error(state, news);
            state->broken = true;
        }
        gst_message_unref(news);
        news = gst_bus_pop(state->bus);
    }
}

typedef enum { TAKEN, NOTHING_YET, ENDED, BROKEN } Taking;

static Taking break_off(PipelineState *state, const char *why)
{
    state->broken = true;
    snprintf(state->why, sizeof state->why, "%s", why);
    return BROKEN;
}

// Makes a pulled sample the one being handed on.
static Taking begin_sample(PipelineState *state, GstSample *sample)
{
    GstBuffer *buffer = gst_sample_get_buffer(sample);
    if (state->caps && !gst_caps_is_equal(state->caps, gst_sample_get_caps(sample))) {
        gst_sample_unref(sample);
        return break_off(state, N_("the sampling rate or the channels change within it"));
    }
    if (!buffer || !gst_buffer_map(buffer, &state->map, GST_MAP_READ)) {
        gst_sample_unref(sample);
        return break_off(state, N_("its samples cannot be reached"));
    }
    state->sample = sample;
    state->offset = 0;
    state->gap = state->begun && GST_BUFFER_FLAG_IS_SET(buffer, GST_BUFFER_FLAG_DISCONT);
    state->begun = true;
    return TAKEN;
}

static gboolean find_working_pad(GstElement *element, GstPad *pad, gpointer found)
{
    (void)element;
    if (gst_pad_get_task_state(pad) == GST_TASK_STARTED)
        *(bool *)found = true;
    return TRUE;
}

static void find_working_element(const GValue *element, gpointer found)
{
    gst_element_foreach_pad(g_value_get_object(element), find_working_pad, found);
}

// Whether no thread of the pipeline is at work. Some demultiplexers stop so at
// a file cut off in its tables, and tell neither an error nor the end.
static bool is_idle(PipelineState *state)
{
    bool found = false;
    GstIterator *elements = gst_bin_iterate_recurse(GST_BIN(state->pipeline));
    // A change while we look means work.
    bool is_steady = gst_iterator_foreach(elements, find_working_element, &found) == GST_ITERATOR_DONE;
    gst_iterator_free(elements);
    return is_steady && !found;
}

// Takes the next sample, waiting for it at most PATIENCE.
static Taking take_sample(PipelineState *state, GstClockTime patience)
{
    release_sample(state);
    unsigned idle = 0;
    for (GstClockTime waited = 0;; waited += GLANCE) {
        // Samples first: what was decoded before an error is still good.
        GstSample *sample = gst_app_sink_try_pull_sample(state->sink, patience < GLANCE ? patience : GLANCE);
        if (sample) {
            tell_taken(sample);
            return begin_sample(state, sample);
        }
        hear_news(state);
        if (state->broken)
            return BROKEN;
        if (gst_app_sink_is_eos(state->sink))
            return ENDED;
        // Several times in a row: between two threads there is a moment of none.
        idle = is_idle(state) ? idle + 1 : 0;
        if (idle >= IDLE_GLANCES)
            return ENDED;
        if (waited >= patience)
            return NOTHING_YET;
    }
}

// Passes over what a codec put ahead of the sound.
static void pass_over(PipelineState *state)
{
    int64_t there = (int64_t)((state->map.size - state->offset) / state->frame_bytes);
    int64_t count = there < state->ahead ? there : state->ahead;
    state->offset += (size_t)count * state->frame_bytes;
    state->ahead -= count;
}

// Frames copied from the sample in hand to OUT, at most FRAMES.
static size_t hand_on(PipelineState *state, float *out, size_t frames)
{
    pass_over(state);
    size_t there = (state->map.size - state->offset) / state->frame_bytes;
    size_t count = there < frames ? there : frames;
    if (count == 0)
        return 0; // a buffer with nothing in it has no place either
    memcpy(out, state->map.data + state->offset, count * state->frame_bytes);
    state->offset += count * state->frame_bytes;
    return count;
}

static bool is_used_up(const PipelineState *state)
{
    return !state->sample || state->map.size - state->offset < state->frame_bytes;
}

// No more will come. A recording that breaks off is read as far as it goes.
static DwStatus stop_reading(DwSource *source, PipelineState *state, Taking taking, DwMessage *message)
{
    state->ended = true;
    if (taking == ENDED)
        return DW_OK;
    const char *why = taking == BROKEN ? state->why : N_("no samples came any more");
    if (state->kind == DW_PIPELINE_LIVE)
        return dw_fail(message, DW_FAILED,
                       "The live input stopped (%s). Check the cable and the device, then start again.", why);
    dw_source_add_remark(source, "Reading stopped after %.1f seconds (%s).",
                         (double)dw_source_position(source) / dw_source_rate_hz(source), why);
    return DW_OK;
}

static DwStatus read_pipeline(DwSource *source, float *interleaved, size_t frames, size_t *got, unsigned *flags,
                              DwMessage *message)
{
    PipelineState *state = dw_source_state(source);
    size_t channels = state->frame_bytes / sizeof(float);
    *got = 0;
    *flags = 0;
    while (*got < frames && !state->ended) {
        if (is_used_up(state)) {
            bool is_enough = *got > 0 && state->kind == DW_PIPELINE_LIVE;
            Taking taking = take_sample(state, is_enough ? 0 : patience(state));
            if (taking == NOTHING_YET && is_enough)
                return DW_OK;
            if (taking != TAKEN && *got > 0 && taking != ENDED)
                return DW_OK; // the next read meets it again and tells
            if (taking != TAKEN)
                return stop_reading(source, state, taking, message);
        }
        if (state->gap && *got > 0)
            return DW_OK;
        if (state->gap)
            *flags = DW_SOURCE_GAP;
        state->gap = false;
        *got += hand_on(state, interleaved + *got * channels, frames - *got);
    }
    return DW_OK;
}

static const DwDriver pipeline_driver = {read_pipeline, close_pipeline};

// The words for the format: given, or what the stream told.
static void describe(const PipelineState *state, const char *format, DwSourceFacts *facts)
{
    const char *codec = state->codec[0] ? state->codec : "unknown encoding";
    if (format)
        snprintf(facts->format, sizeof facts->format, "%s", format);
    else if (state->container[0])
        snprintf(facts->format, sizeof facts->format, "%s, %s", state->container, codec);
    else
        snprintf(facts->format, sizeof facts->format, "%s", codec);
}

// Whether the length told is one that was written down. A bare stream (MP3, AAC,
// AMR) has none: it is guessed from the bit rate so far.
static bool tells_length(const PipelineState *state)
{
    bool is_bare = !state->container[0] || strstr(state->container, "ID3") || strstr(state->container, "APE");
    return state->kind == DW_PIPELINE_RECORDING && !is_bare;
}

// Rate, channels and length, from the first samples. Returned: whether they make sense.
static bool learn_facts(PipelineState *state, DwSourceFacts *facts)
{
    GstAudioInfo info;
    state->caps = gst_caps_ref(gst_sample_get_caps(state->sample));
    if (!gst_audio_info_from_caps(&info, state->caps) || info.rate <= 0 || info.channels <= 0)
        return false;
    state->frame_bytes = (size_t)info.bpf;
    facts->rate_hz = info.rate;
    facts->channels = (unsigned)info.channels;
    facts->frames = -1;
    // A decoder's length is good to its frames and its delay, not to a sample.
    facts->tolerance = info.rate / 4;
    gint64 duration = 0;
    if (tells_length(state) && gst_element_query_duration(state->pipeline, GST_FORMAT_TIME, &duration) && duration > 0)
        facts->frames = (int64_t)gst_util_uint64_scale_round((guint64)duration, (guint64)info.rate, GST_SECOND);
    return true;
}

// The caps of what went into ELEMENT, when that decodes sound.
static void find_codec(const GValue *element, gpointer found)
{
    GstElementFactory *factory = gst_element_get_factory(g_value_get_object(element));
    GstElementFactoryListType wanted = GST_ELEMENT_FACTORY_TYPE_DECODER | GST_ELEMENT_FACTORY_TYPE_MEDIA_AUDIO;
    if (*(GstCaps **)found || !factory || !gst_element_factory_list_is_type(factory, wanted))
        return;
    GstPad *pad = gst_element_get_static_pad(g_value_get_object(element), "sink");
    if (!pad)
        return;
    *(GstCaps **)found = gst_pad_get_current_caps(pad);
    gst_object_unref(pad);
}

// Frames that come ahead of the sound of the recording at PATH. Where its container says by an edit
// list where the sound begins, the demultiplexer has cut there.
static int64_t frames_ahead(PipelineState *state, const char *path)
{
    const GstSegment *segment = gst_sample_get_segment(state->sample);
    if (segment && segment->start > 0)
        return 0;
    int64_t stated = dw_padding_stated(path);
    if (stated >= 0)
        return stated;
    GstCaps *caps = NULL;
    GstIterator *elements = gst_bin_iterate_recurse(GST_BIN(state->pipeline));
    while (gst_iterator_foreach(elements, find_codec, &caps) == GST_ITERATOR_RESYNC)
        gst_iterator_resync(elements);
    gst_iterator_free(elements);
    int64_t ahead = caps ? dw_padding_of_codec(caps, (int64_t)(state->map.size / state->frame_bytes)) : 0;
    gst_clear_caps(&caps);
    return ahead;
}

// Why no first sample came.
static DwStatus refuse_pipeline(const PipelineState *state, Taking taking, DwMessage *message)
{
    if (state->missing)
        return dw_fail(message, DW_FAILED,
                       "reading it needs what is not installed: %s. Install gstreamer1.0-libav and "
                       "gstreamer1.0-plugins-good, or save the recording as WAV or FLAC.",
                       state->why);
    if (taking == ENDED)
        return dw_fail(message, DW_BAD_INPUT, "it holds no samples");
    if (taking == NOTHING_YET)
        return dw_fail(message, DW_BAD_INPUT, "no samples came");
    return dw_fail(message, DW_BAD_INPUT, "%s", state->why[0] ? state->why : "unknown reason");
}

DwStatus dw_pipeline_open(GstElement *pipeline, DwPipelineKind kind, const char *format, const char *path,
                          DwSource **source, DwMessage *message)
{
    PipelineState *state = dw_memory_new(1, sizeof *state);
    state->pipeline = pipeline;
    state->kind = kind;
    state->bus = gst_element_get_bus(pipeline);
    state->sink = GST_APP_SINK(gst_bin_get_by_name(GST_BIN(pipeline), end_name));
    gst_element_set_state(pipeline, GST_STATE_PLAYING);
    Taking taking = take_sample(state, patience(state));
    hear_news(state); // the tags
    DwSourceFacts facts = {0};
    if (taking == TAKEN && !learn_facts(state, &facts))
        taking = break_off(state, N_("its sampling rate or its channels are not told"));
    if (taking != TAKEN) {
        DwStatus status = refuse_pipeline(state, taking, message);
        close_pipeline(state);
        return status;
    }
    state->ahead = path ? frames_ahead(state, path) : 0;
    if (facts.frames > state->ahead)
        facts.frames -= state->ahead;
    describe(state, format, &facts);
    *source = dw_source_new(&pipeline_driver, state, &facts);
    return DW_OK;
}
