// SPDX-License-Identifier: MIT
#include "audio/film.h"

#include "audio/parts.h"
#include "audio/pipeline.h"

#include <gst/app/gstappsink.h>
#include <gst/pbutils/pbutils.h>
#include <gst/video/video.h>
#include <stdio.h>
#include <string.h>

enum { FRAMES_WAITING = 4, PIXELS_MOST = 4096 * 2304, IDLE_MOST = 1600 };
#define GLANCE (5 * GST_MSECOND)

// What is being played.
typedef struct {
    GstElement *pipeline;
    GstAppSink *sink;
    GstBus *bus;
    bool broken, missing;
    char why[200];
} Playing;

static gint select_part(GstElement *decoder, GstPad *pad, GstCaps *caps, GstElementFactory *factory, gpointer user)
{
    enum { TRY = 0, SKIP = 2 }; // the decoder's own numbers
    (void)decoder;
    (void)pad;
    (void)caps;
    (void)user;
    return dw_parts_shows(gst_plugin_feature_get_name(factory)) ? TRY : SKIP;
}

// Links the first stream of pictures that appears.
static void link_pictures(GstElement *decoder, GstPad *pad, gpointer end)
{
    (void)decoder;
    GstPad *entry = gst_element_get_static_pad(end, "sink");
    if (!gst_pad_is_linked(entry))
        gst_pad_link(pad, entry);
    gst_object_unref(entry);
}

// The end of the pipeline: pictures whose first plane is brightness in bytes are taken as they are.
static GstElement *add_end(Playing *playing, DwMessage *message)
{
    GstElement *convert = dw_pipeline_add(playing->pipeline, "videoconvert", NULL, message);
    GstElement *sink = convert ? dw_pipeline_add(playing->pipeline, "appsink", "end", message) : NULL;
    if (!sink)
        return NULL;
    GstCaps *caps = gst_caps_from_string("video/x-raw, format = { I420, NV12, GRAY8, YV12, NV21, Y42B, Y444, Y41B }, "
                                         "width = [ 16, 8192 ], height = [ 16, 8192 ]");
    g_object_set(sink, "caps", caps, "max-buffers", FRAMES_WAITING, "drop", FALSE, "sync", FALSE, NULL);
    gst_caps_unref(caps);
    gst_element_link(convert, sink);
    playing->sink = GST_APP_SINK(gst_object_ref(sink));
    return convert;
}

static DwStatus start(const char *path, Playing *playing, DwMessage *message)
{
    DwStatus status = dw_pipeline_start(message);
    if (status != DW_OK)
        return status;
    playing->pipeline = gst_pipeline_new(NULL);
    GstElement *file = dw_pipeline_add(playing->pipeline, "filesrc", NULL, message);
    GstElement *decoder = file ? dw_pipeline_add(playing->pipeline, "decodebin", NULL, message) : NULL;
    GstElement *end = decoder ? add_end(playing, message) : NULL;
    if (!end)
        return DW_FAILED;
    g_object_set(file, "location", path, NULL);
    GstCaps *caps = gst_caps_from_string("video/x-raw(ANY)");
    g_object_set(decoder, "caps", caps, "expose-all-streams", FALSE, NULL);
    gst_caps_unref(caps);
    gst_element_link(file, decoder);
    g_signal_connect(decoder, "autoplug-select", G_CALLBACK(select_part), NULL);
    g_signal_connect(decoder, "pad-added", G_CALLBACK(link_pictures), end);
    playing->bus = gst_element_get_bus(playing->pipeline);
    gst_element_set_state(playing->pipeline, GST_STATE_PLAYING);
    return DW_OK;
}

static void stop(Playing *playing)
{
    if (!playing->pipeline)
        return;
    gst_element_set_state(playing->pipeline, GST_STATE_NULL);
    gst_clear_object(&playing->bus);
    gst_clear_object(&playing->sink);
    gst_object_unref(playing->pipeline);
}

static void note(Playing *playing, const char *why)
{
    if (!playing->why[0])
        snprintf(playing->why, sizeof playing->why, "%s", why);
    g_strdelimit(playing->why, "\n\r", ' ');
    size_t length = strlen(playing->why);
    if (length > 0 && playing->why[length - 1] == '.')
        playing->why[length - 1] = '\0';
}

// Takes what the pipeline has told so far.
static void hear_news(Playing *playing)
{
    GstMessage *news;
    while ((news = gst_bus_pop(playing->bus))) {
        if (gst_is_missing_plugin_message(news)) {
            char *what = gst_missing_plugin_message_get_description(news);
            playing->missing = true;
            note(playing, what ? what : "decoder");
            g_free(what);
        } else if (GST_MESSAGE_TYPE(news) == GST_MESSAGE_ERROR) {
            GError *error = NULL;
            gst_message_parse_error(news, &error, NULL);
            bool is_pictureless = g_error_matches(error, GST_CORE_ERROR, GST_CORE_ERROR_MISSING_PLUGIN);
            note(playing, is_pictureless ? "it holds no film that can be read" : error->message);
            playing->broken = true;
            g_error_free(error);
        }
        gst_message_unref(news);
    }
}

// The next frame, or NULL at the end.
static GstSample *pull(Playing *playing)
{
    for (int idle = 0; idle < IDLE_MOST; idle++) {
        // Frames first: what was decoded before an error is still good.
        GstSample *sample = gst_app_sink_try_pull_sample(playing->sink, GLANCE);
        if (sample)
            return sample;
        hear_news(playing);
        if (playing->broken || gst_app_sink_is_eos(playing->sink))
            return NULL;
    }
    note(playing, "no frames came any more");
    playing->broken = true;
    return NULL;
}

// Gives SAMPLE to TAKE. Returned: whether to go on.
static bool hand_on(Playing *playing, GstSample *sample, DwFilmTake take, void *user)
{
    GstVideoInfo info;
    GstVideoFrame frame;
    GstBuffer *buffer = gst_sample_get_buffer(sample);
    if (!buffer || !gst_video_info_from_caps(&info, gst_sample_get_caps(sample)) ||
        (gint64)info.width * info.height > PIXELS_MOST || !gst_video_frame_map(&frame, &info, buffer, GST_MAP_READ)) {
        note(playing, "its pictures cannot be read here; film with 1080p or 4K");
        playing->broken = true;
        return false;
    }
    bool go_on = true;
    if (GST_BUFFER_PTS_IS_VALID(buffer)) {
        const DwFilmPicture picture = {info.width, info.height, GST_VIDEO_FRAME_PLANE_STRIDE(&frame, 0),
                                       GST_VIDEO_FRAME_PLANE_DATA(&frame, 0),
                                       (double)GST_BUFFER_PTS(buffer) / GST_SECOND};
        go_on = take(&picture, user);
    }
    gst_video_frame_unmap(&frame);
    return go_on;
}

static DwStatus refuse(const Playing *playing, DwMessage *message)
{
    if (playing->missing)
        return dw_fail(message, DW_FAILED,
                       "reading it needs what is not installed: %s. Install gstreamer1.0-libav and "
                       "gstreamer1.0-plugins-good.",
                       playing->why);
    return dw_fail(message, DW_BAD_INPUT,
                   "it is no film that can be read%s%s%s. Take the film as the telephone saved it.",
                   playing->why[0] ? " (" : "", playing->why, playing->why[0] ? ")" : "");
}

DwStatus dw_film_inside(const char *path, DwFilmTake take, void *user, DwFilmEnd *end, DwMessage *message)
{
    Playing playing = {0};
    DwStatus status = start(path, &playing, message);
    size_t frames = 0;
    bool go_on = status == DW_OK;
    while (go_on) {
        GstSample *sample = pull(&playing);
        if (!sample)
            break;
        go_on = hand_on(&playing, sample, take, user);
        gst_sample_unref(sample);
        frames += !playing.broken;
    }
    if (status == DW_OK && frames == 0)
        status = refuse(&playing, message);
    if (status == DW_OK) {
        *end = (DwFilmEnd){.frames = frames, .stopped = playing.broken};
        snprintf(end->why, sizeof end->why, "%s", playing.why);
    }
    stop(&playing);
    return status;
}
