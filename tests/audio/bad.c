// SPDX-License-Identifier: MIT
// Files that are no recordings, or no longer: each is refused with one line or
// read as far as it goes, and nothing is written to the terminal.
#include "audio/source.h"
#include "support.h"
#include "support/alike.h"
#include "support/suite.h"

#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// One line that names the file and goes on to what to do.
static void expect_line(const char *path, const char *line)
{
    ck_assert_msg(strncmp(line, path, strlen(path)) == 0, "%s", line);
    ck_assert_msg(!strchr(line, '\n') && line[strlen(line) - 1] == '.', "%s", line);
    ck_assert_msg(strstr(line, ". "), "only one sentence: %s", line);
}

static void expect_refusal(const char *path, const char *what)
{
    DwSource *source = NULL;
    DwMessage message = {""};
    ck_assert_msg(dw_source_open(path, &source, &message) == DW_BAD_INPUT, "%s was not refused: %s", path,
                  message.text);
    ck_assert_ptr_null(source);
    expect_line(path, message.text);
    ck_assert_msg(strstr(message.text, what), "\"%s\" not in: %s", what, message.text);
}

static void expect_bytes_refused(const char *name, const void *bytes, size_t count, const char *what)
{
    const char *path = test_path(name);
    test_write(path, bytes, count);
    expect_refusal(path, what);
}

// Whatever PATH holds: one line, or samples to an end. Returned: frames read.
static size_t expect_one_or_the_other(const char *path)
{
    DwSource *source = NULL;
    DwMessage message = {""};
    DwStatus status = dw_source_open(path, &source, &message);
    size_t frames = 0;
    if (status == DW_OK)
        free(test_read_all(source, 1024, &frames, NULL));
    else {
        // Damage may make a stream's head that of another kind, whose decoder nobody has: an Ogg stream's number is
        // drawn anew each time it is written, so which damage does is too.
        ck_assert_msg(status == DW_BAD_INPUT || (status == DW_FAILED && strstr(message.text, "not installed")), "%s",
                      message.text);
        expect_line(path, message.text);
    }
    dw_source_close(source);
    return frames;
}

START_TEST(what_is_no_file_is_refused)
{
    expect_refusal(test_path("nothing.wav"), "no such file");
    expect_refusal(test_path(""), "folder");
    test_write(test_path("empty.wav"), "", 0);
    expect_refusal(test_path("empty.wav"), "empty");
    expect_refusal(test_path("empty.wav/inside.wav"), "cannot be found");
    ck_assert_int_eq(mkfifo(test_path("pipe.wav"), 0600), 0);
    expect_refusal(test_path("pipe.wav"), "no ordinary file");
    expect_refusal("/dev/null", "no ordinary file");
}
END_TEST

START_TEST(what_may_not_be_read_is_refused)
{
    if (geteuid() == 0)
        TEST_PASS_OVER("the superuser may read every file");
    const char *path = test_path("locked.wav");
    test_write(path, "RIFF", 4);
    ck_assert_int_eq(chmod(path, 0), 0);
    expect_refusal(path, "cannot be read (");
}
END_TEST

START_TEST(what_is_no_recording_is_refused)
{
    const char text[] = "Belt replaced, bearing oiled, speed set to 33 1/3.\nPaid in cash.\n";
    const char page[] = "<!DOCTYPE html><html><body>Not found</body></html>\n";
    expect_bytes_refused("notes.txt", text, sizeof text - 1, "no recording in a known format");
    expect_bytes_refused("notes.wav", text, sizeof text - 1, "no recording in a known format");
    // The endings of headerless formats promise nothing.
    expect_bytes_refused("notes.vox", text, sizeof text - 1, "no recording in a known format");
    expect_bytes_refused("notes.au", text, sizeof text - 1, "no recording in a known format");
    expect_bytes_refused("page.mp3", page, sizeof page - 1, "no recording in a known format");
    expect_bytes_refused("one.wav", "R", 1, "no recording in a known format");
    unsigned char zeros[5000] = {0};
    expect_bytes_refused("zeros.wav", zeros, sizeof zeros, "no recording in a known format");
}
END_TEST

static void expect_head_refused(TestWav head, const char *what)
{
    TestBytes file = {0};
    test_put_wav_head(&file, &head);
    for (unsigned i = 0; i < 400; i++)
        test_put_number(&file, i, 2);
    const char *path = test_path("head.wav");
    test_write(path, file.bytes, head.data_bytes ? file.count : 44);
    free(file.bytes);
    expect_refusal(path, what);
    expect_refusal(path, "begins like a WAV file but cannot be read");
}

START_TEST(heads_that_make_no_sense_are_refused)
{
    expect_head_refused((TestWav){0, 2, 16, 1, 800}, "0 Hz");
    expect_head_refused((TestWav){48000, 0, 16, 1, 800}, "hannel");
    expect_head_refused((TestWav){48000, 2, 0, 1, 800}, "(");
    expect_head_refused((TestWav){48000, 2, 16, 1, 0}, "no samples");
    expect_head_refused((TestWav){48000, 2, 16, 0x7777, 800}, "(");
}
END_TEST

// Every beginning of the file at PATH up to HEAD bytes, then some longer ones.
static void try_truncations(const char *path, const char *name, size_t head)
{
    size_t count;
    unsigned char *bytes = test_read(path, &count);
    ck_assert_uint_gt(count, head);
    for (size_t kept = 1; kept < count; kept += kept < head ? alike(1, 3) : (count - head) / 7 + 1) {
        const char *cut = test_path(name);
        test_write(cut, bytes, kept);
        size_t frames = expect_one_or_the_other(cut);
        ck_assert_msg(kept > head || frames == 0, "%zu bytes of %s gave %zu frames", kept, path, frames);
    }
    free(bytes);
}

START_TEST(a_wav_cut_off_anywhere_is_refused_or_read)
{
    TestBytes file = {0};
    test_put_wav_head(&file, &(TestWav){48000, 2, 16, 1, 4000});
    for (unsigned i = 0; i < 2000; i++)
        test_put_number(&file, i * 7919, 2);
    test_write(test_path("whole.wav"), file.bytes, file.count);
    free(file.bytes);
    try_truncations(test_path("whole.wav"), "cut.wav", 44);
}
END_TEST

START_TEST(a_flac_cut_off_anywhere_is_refused_or_read)
{
    if (!test_has_sox())
        TEST_PASS_OVER("sox is not installed");
    // 42 bytes: the mark and the block that says rate, channels and length.
    test_sox("-n -r 48000 -c 2 -b 16 %s synth 0.3 whitenoise", test_path("whole.flac"));
    try_truncations(test_path("whole.flac"), "cut.flac", 42);
}
END_TEST

START_TEST(an_m4a_cut_off_anywhere_is_refused_or_read)
{
    if (!test_has_element("avenc_aac") || !test_has_element("mp4mux"))
        TEST_PASS_OVER("GStreamer's avenc_aac (gstreamer1.0-libav) is not installed");
    const char *path = test_path("whole.m4a");
    test_run_pipeline("audiotestsrc num-buffers=20 ! audio/x-raw,rate=48000,channels=2 ! avenc_aac ! mp4mux "
                      "faststart=true ! filesink location=%s",
                      path);
    // The brand alone tells nothing; then every 29th byte of the table that does.
    size_t count;
    unsigned char *bytes = test_read(path, &count);
    const unsigned char *data = memmem(bytes, count, "mdat", 4);
    ck_assert_ptr_nonnull(data);
    size_t head = (size_t)(data - bytes);
    for (size_t kept = 1; kept < count; kept += kept < 40 ? 3 : kept < head ? alike(29, 87) : (count - head) / 7 + 1) {
        test_write(test_path("cut.m4a"), bytes, kept);
        size_t frames = expect_one_or_the_other(test_path("cut.m4a"));
        ck_assert_msg(kept > head || frames == 0, "%zu bytes gave %zu frames", kept, frames);
    }
    free(bytes);
}
END_TEST

// A pseudo-random byte. Source (published): the generator of G. Marsaglia, "Xorshift RNGs", 2003.
static unsigned char random_byte(uint32_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 17;
    *state ^= *state << 5;
    return (unsigned char)(*state >> 24);
}

START_TEST(random_bytes_are_refused_or_read)
{
    static const char *const heads[] = {"",        "RIFF....WAVE", "fLaC",     "OggS",
                                        "ID3\x04", "FORM....AIFF", "\xff\xfb", "RF64"};
    uint32_t state = 20240607;
    unsigned char bytes[3000];
    for (size_t i = 0; i < 2 * sizeof heads / sizeof *heads; i += alike(1, 2)) {
        const char *head = heads[i / 2];
        for (size_t k = 0; k < sizeof bytes; k++)
            bytes[k] = random_byte(&state);
        memcpy(bytes, head, strlen(head));
        test_write(test_path("random.bin"), bytes, sizeof bytes);
        expect_one_or_the_other(test_path("random.bin"));
    }
}
END_TEST

// Damage anywhere in a good file: in each round some bytes are changed.
START_TEST(damaged_files_are_refused_or_read)
{
    if (!test_has_sox())
        TEST_PASS_OVER("sox is not installed");
    static const char *const names[] = {"hurt.wav", "hurt.flac", "hurt.aiff", "hurt.ogg"};
    uint32_t state = 19770401;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const char *path = test_path(names[i]);
        size_t count;
        test_sox("-n -r 48000 -c 2 -b 16 %s synth 0.2 sine 3150 gain -6", path);
        unsigned char *bytes = test_read(path, &count);
        for (unsigned round = 0; round < alike(12, 4); round++) {
            // The head most of all: half of the damage falls on its 100 bytes.
            size_t reach = round % 2 ? count : 100;
            for (unsigned k = 0; k < 4; k++)
                bytes[(random_byte(&state) << 8 | random_byte(&state)) % reach] = random_byte(&state);
            test_write(path, bytes, count);
            expect_one_or_the_other(path);
        }
        free(bytes);
    }
}
END_TEST

START_TEST(a_picture_and_a_video_without_sound_are_refused)
{
    if (!test_has_element("pngenc") || !test_has_element("jpegenc") || !test_has_element("qtmux"))
        TEST_PASS_OVER("GStreamer's pngenc, jpegenc or qtmux is not installed");
    test_run_pipeline("videotestsrc num-buffers=1 ! pngenc ! filesink location=%s", test_path("deck.png"));
    expect_refusal(test_path("deck.png"), "no recording");
    test_run_pipeline("videotestsrc num-buffers=10 ! videoconvert ! jpegenc ! qtmux ! filesink location=%s",
                      test_path("mute.mov"));
    expect_refusal(test_path("mute.mov"), "holds no sound");
}
END_TEST

// The first test: from here on, standard error goes to a file.
static int kept_error = -1;

START_TEST(from_here_on_standard_error_is_kept)
{
    kept_error = dup(2);
    int file = open(test_path("stderr"), O_CREAT | O_WRONLY | O_TRUNC, 0600);
    ck_assert_int_ge(file, 0);
    fflush(stderr);
    ck_assert_int_eq(dup2(file, 2), 2);
    close(file);
}
END_TEST

// The last test: in all the others nothing was written there.
START_TEST(nothing_was_written_to_standard_error)
{
    fflush(stderr);
    dup2(kept_error, 2);
    close(kept_error);
    size_t count;
    unsigned char *bytes = test_read(test_path("stderr"), &count);
    bytes[count] = '\0';
    ck_assert_msg(count == 0, "%s", (const char *)bytes);
    free(bytes);
}
END_TEST

DW_SUITE("bad", from_here_on_standard_error_is_kept, what_is_no_file_is_refused, what_may_not_be_read_is_refused,
         what_is_no_recording_is_refused, heads_that_make_no_sense_are_refused,
         a_wav_cut_off_anywhere_is_refused_or_read, a_flac_cut_off_anywhere_is_refused_or_read,
         an_m4a_cut_off_anywhere_is_refused_or_read, random_bytes_are_refused_or_read,
         damaged_files_are_refused_or_read, a_picture_and_a_video_without_sound_are_refused,
         nothing_was_written_to_standard_error)
