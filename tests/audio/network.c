// SPDX-License-Identifier: MIT
// Files that name other places: no decoder goes there, whatever GStreamer has
// installed. A part that would is put in by the test itself, above all others.
#include "audio/parts.h"
#include "audio/pipeline.h"
#include "audio/source.h"
#include "support.h"
#include "support/suite.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

// A server that nobody must call.
static int server;
static unsigned port;

static void listen_here(void)
{
    struct sockaddr_in place = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    socklen_t size = sizeof place;
    server = socket(AF_INET, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
    ck_assert_int_eq(bind(server, (struct sockaddr *)&place, size), 0);
    ck_assert_int_eq(listen(server, 8), 0);
    ck_assert_int_eq(getsockname(server, (struct sockaddr *)&place, &size), 0);
    port = ntohs(place.sin_port);
}

static bool was_called(void)
{
    int called = accept(server, NULL, NULL);
    if (called >= 0)
        close(called);
    return called >= 0;
}

// What a further plug-in may bring: an element that takes every playlist there is.
static int made;

typedef struct {
    GstElement element;
} Fetcher;

typedef struct {
    GstElementClass element;
} FetcherClass;

static GType fetcher_get_type(void);
G_DEFINE_TYPE(Fetcher, fetcher, GST_TYPE_ELEMENT)

static const char *const playlists[] = {"application/x-hls",   "application/dash+xml", "application/vnd.ms-sstr+xml",
                                        "application/smil",    "text/uri-list",        "application/sdp",
                                        "application/xspf+xml"};

static void fetcher_class_init(FetcherClass *class)
{
    GstCaps *caps = gst_caps_new_empty();
    for (size_t i = 0; i < sizeof playlists / sizeof *playlists; i++)
        gst_caps_append(caps, gst_caps_new_empty_simple(playlists[i]));
    gst_element_class_add_pad_template(GST_ELEMENT_CLASS(class),
                                       gst_pad_template_new("sink", GST_PAD_SINK, GST_PAD_ALWAYS, caps));
    gst_caps_unref(caps);
    gst_element_class_set_static_metadata(GST_ELEMENT_CLASS(class), "Fetcher", "Codec/Demuxer/Adaptive",
                                          "Takes playlists", "a test");
}

static void fetcher_init(Fetcher *fetcher)
{
    (void)fetcher;
    made++;
}

static void add_fetcher(void)
{
    made = 0;
    ck_assert_int_eq(dw_pipeline_start(NULL), DW_OK);
    ck_assert(gst_element_register(NULL, "hlsdemux", GST_RANK_PRIMARY + 1000, fetcher_get_type()));
}

// Opens a file with the TEXT, which is refused, and nothing is fetched.
static void expect_nothing_fetched(const char *name, const void *bytes, size_t length)
{
    DwSource *source = NULL;
    DwMessage message = {""};
    const char *path = test_path(name);
    test_write(path, bytes, length);
    ck_assert_msg(dw_source_open(path, &source, &message) != DW_OK, "%s", name);
    ck_assert_msg(!strchr(message.text, '\n') && strlen(message.text) > 20, "%s: %s", name, message.text);
    ck_assert_msg(made == 0, "%s: a part was made that fetches", name);
    ck_assert_msg(!was_called(), "%s: the network was asked", name);
}

static void expect_text_fetches_nothing(const char *name, const char *format)
{
    char text[2000];
    int length = snprintf(text, sizeof text, format, port, port);
    expect_nothing_fetched(name, text, (size_t)length);
}

START_TEST(a_playlist_is_no_recording)
{
    listen_here();
    add_fetcher();
    expect_text_fetches_nothing("list.m3u8",
                                "#EXTM3U\n#EXT-X-VERSION:3\n#EXT-X-TARGETDURATION:10\n#EXTINF:10,\n"
                                "http://127.0.0.1:%u/a.ts\n#EXTINF:10,\nfile:///etc/passwd\n#EXT-X-ENDLIST\n");
    expect_text_fetches_nothing("master.m3u8", "#EXTM3U\n#EXT-X-STREAM-INF:BANDWIDTH=1280000,CODECS=\"mp4a.40.2\"\n"
                                               "http://127.0.0.1:%u/low.m3u8\n");
    expect_text_fetches_nothing("list.m3u", "#EXTM3U\n#EXTINF:1,x\nhttp://127.0.0.1:%u/a.mp3\n");
    expect_text_fetches_nothing("list.smil",
                                "<?xml version=\"1.0\"?>\n<smil xmlns=\"http://www.w3.org/ns/SMIL\"><head/><body>"
                                "<audio src=\"http://127.0.0.1:%u/a.mp3\"/></body></smil>\n");
    expect_text_fetches_nothing("list.mpd",
                                "<?xml version=\"1.0\"?>\n<MPD xmlns=\"urn:mpeg:dash:schema:mpd:2011\" type=\"static\" "
                                "mediaPresentationDuration=\"PT9S\" profiles=\"urn:mpeg:dash:profile:isoff-main:2011\" "
                                "minBufferTime=\"PT1S\"><Period><AdaptationSet mimeType=\"audio/mp4\">"
                                "<Representation id=\"1\" bandwidth=\"9\"><BaseURL>http://127.0.0.1:%u/a.mp4"
                                "</BaseURL></Representation></AdaptationSet></Period></MPD>\n");
    expect_text_fetches_nothing("list.ism", "<?xml version=\"1.0\"?><SmoothStreamingMedia MajorVersion=\"2\" "
                                            "Url=\"http://127.0.0.1:%u/a\"></SmoothStreamingMedia>\n");
    expect_text_fetches_nothing("list.sdp", "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\n"
                                            "m=audio %u RTP/AVP 0\n");
    expect_text_fetches_nothing("list.xspf",
                                "<?xml version=\"1.0\"?><playlist version=\"1\" xmlns=\"http://xspf.org/ns/0/\">"
                                "<trackList><track><location>http://127.0.0.1:%u/a.mp3</location></track>"
                                "</trackList></playlist>\n");
    expect_text_fetches_nothing("list.pls", "[playlist]\nFile1=http://127.0.0.1:%u/a.mp3\nNumberOfEntries=1\n");
    expect_text_fetches_nothing("list.ffconcat", "ffconcat version 1.0\nfile 'http://127.0.0.1:%u/a.mp3'\n");
    expect_text_fetches_nothing("list.url", "http://127.0.0.1:%u/a.mp3\r\n");
    close(server);
}
END_TEST

// A box of an MP4 file: its length, its name, what it holds. Source (published): ISO/IEC 14496-12, 4.2.
static size_t begin_box(TestBytes *file, const char *name)
{
    size_t at = file->count;
    test_put(file, "\0\0\0\0", 4);
    test_put(file, name, 4);
    return at;
}

static void end_box(TestBytes *file, size_t at)
{
    size_t length = file->count - at;
    for (size_t i = 0; i < 4; i++)
        file->bytes[at + i] = (unsigned char)(length >> (24 - 8 * i));
}

// A film that only says where another is. Source (published): QuickTime File Format, "Movie Resource
// Atoms": rmra, rmda, rdrf; from memory).
START_TEST(a_film_that_refers_elsewhere_is_no_recording)
{
    listen_here();
    add_fetcher();
    char place[64];
    snprintf(place, sizeof place, "http://127.0.0.1:%u/a.mp4", port);
    TestBytes file = {0};
    size_t type = begin_box(&file, "ftyp");
    test_put(&file, "qt  \0\0\0\0qt  ", 12);
    end_box(&file, type);
    size_t film = begin_box(&file, "moov"), list = begin_box(&file, "rmra"), one = begin_box(&file, "rmda");
    size_t reference = begin_box(&file, "rdrf");
    test_put(&file, "\0\0\0\0url \0\0\0", 11);
    test_put(&file, (char[]){(char)(strlen(place) + 1)}, 1);
    test_put(&file, place, strlen(place) + 1);
    end_box(&file, reference);
    end_box(&file, one);
    end_box(&file, list);
    end_box(&file, film);
    expect_nothing_fetched("elsewhere.mov", file.bytes, file.count);
    free(file.bytes);
    close(server);
}
END_TEST

// Replaces the box NAME in FILE of LENGTH bytes by one called WITH of the same size.
static void rename_box(unsigned char *file, size_t length, const char *name, const char *with)
{
    unsigned char *found = memmem(file, length, name, 4);
    ck_assert_ptr_nonnull(found);
    memcpy(found, with, 4);
}

// A track whose samples lie in another file (14496-12, 8.7.2: "url ", flag 0).
START_TEST(samples_elsewhere_are_not_fetched)
{
    static const char *const needed[] = {"avenc_aac", "avdec_aac", "mp4mux", "qtdemux"};
    for (size_t i = 0; i < sizeof needed / sizeof *needed; i++)
        if (!test_has_element(needed[i]))
            TEST_PASS_OVER("GStreamer's AAC or MP4 parts are not installed");
    listen_here();
    const char *whole = test_path("whole.m4a"), *path = test_path("samples.m4a");
    test_run_pipeline("audiotestsrc num-buffers=20 ! audioconvert ! avenc_aac ! mp4mux ! filesink location=%s", whole);
    size_t length;
    unsigned char *bytes = test_read(whole, &length);
    unsigned char *reference = memmem(bytes, length, "dref", 4);
    ck_assert_ptr_nonnull(reference);
    unsigned char *url = memmem(reference, (size_t)(bytes + length - reference), "url ", 4);
    ck_assert_ptr_nonnull(url);
    // There is room for no address: an alias takes its name from the file system.
    url[7] = 0;
    rename_box(bytes, length, "url ", "alis");
    test_write(path, bytes, length);
    free(bytes);
    DwSource *source = NULL;
    if (dw_source_open(path, &source, NULL) == DW_OK)
        dw_source_close(source);
    ck_assert(!was_called());
    close(server);
}
END_TEST

// Of all that is installed here.
START_TEST(no_part_that_goes_elsewhere_is_used)
{
    static const char *const elsewhere[] = {"Source",   "Adaptive", "Network", "Sink",
                                            "Subtitle", "Video",    "Image",   "Bin"};
    ck_assert_int_eq(dw_pipeline_start(NULL), DW_OK);
    GList *all = gst_registry_get_feature_list(gst_registry_get(), GST_TYPE_ELEMENT_FACTORY);
    unsigned used = 0;
    for (GList *place = all; place; place = place->next) {
        const char *name = gst_plugin_feature_get_name(place->data);
        const char *class = gst_element_factory_get_metadata(place->data, GST_ELEMENT_METADATA_KLASS);
        if (!dw_parts_has(name))
            continue;
        used++;
        for (size_t i = 0; i < sizeof elsewhere / sizeof *elsewhere; i++)
            ck_assert_msg(!strstr(class, elsewhere[i]), "%s is of the class %s", name, class);
    }
    gst_plugin_feature_list_free(all);
    ck_assert_uint_ge(used, 10);
}
END_TEST

DW_SUITE("network", a_playlist_is_no_recording, a_film_that_refers_elsewhere_is_no_recording,
         samples_elsewhere_are_not_fetched, no_part_that_goes_elsewhere_is_used)
