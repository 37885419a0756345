"""What is done to the program: one function a case, named as its row in README.md.

A function makes the case's files in the working folder, an empty one, and returns what follows
`coastwise` on the command line; or that and a dict of what subprocess.Popen takes besides.
"""
import base64
import gzip
import hashlib
import os
import re
import signal
import threading
import zlib

FIXTURES = os.path.realpath(os.path.join(os.path.dirname(__file__), "../../fixtures"))
DEMO = os.path.join(FIXTURES, "demo/outing.ini")

HEAD = '<?xml version="1.0"?>\n'
ROOT = '<gpx version="1.1" creator="none" xmlns="http://www.topografix.com/GPX/1/1">'


def point(i, time="2024-05-19T09:{:02d}:{:02d}Z", lat="47.{:06d}", lon="8.5", ele="{:.1f}", more=""):
    return (
        f'<trkpt lat="{lat.format(100000 + 90 * i)}" lon="{lon}">'
        f"<ele>{ele.format(900 - 0.6 * i)}</ele><time>{time.format(i // 60, i % 60)}</time>{more}</trkpt>\n"
    )


def points(**parts):
    return "".join(point(i, **parts) for i in range(300))


def gpx(body=None, before="", inside="", after=""):
    """A ride of five minutes with something added: before the root, within it, behind it."""
    body = points() if body is None else body
    return f"{HEAD}{before}{ROOT}{inside}<trk><trkseg>\n{body}</trkseg></trk></gpx>\n{after}"


def write(name, content):
    with open(name, "wb") as file:
        file.write(content if isinstance(content, bytes) else content.encode())
    return name


def runs(content, *options, name="ride.gpx"):
    return ["runs", write(name, content), *options]


def outing(recordings="ride.gpx", setups="[setup a]\n", more=""):
    return (
        f"[outing]\nrecordings = {recordings}\n[rider]\nmass_kg = 70\n[bike]\nmass_kg = 9\n{setups}{more}"
    )


def fit(text, command="fit"):
    if not os.path.exists("ride.gpx"):
        write("ride.gpx", gpx())
    return [command, write("outing.ini", text)]


# ---- XML ----


def attribute_declarations():
    return runs(gpx(before="<!DOCTYPE gpx [\n" + "".join(f'<!ATTLIST gpx a{i} CDATA "x">\n' for i in range(50000)) + "]>"))


def entity_bomb():
    names = [f'<!ENTITY e{i + 1} "{f"&e{i};" * 10}">\n' for i in range(9)]
    return runs(gpx(before='<!DOCTYPE gpx [\n<!ENTITY e0 "aaaaaaaaaa">\n' + "".join(names) + "]>", inside="<name>&e9;</name>"))


def external_entity():
    return runs(gpx(before='<!DOCTYPE gpx [<!ENTITY e SYSTEM "file:///etc/passwd">]>', inside="<name>&e;</name>"))


def external_dtd():
    return runs(gpx(before='<!DOCTYPE gpx SYSTEM "file:///dev/zero">'))


def deep_nesting():
    return runs(gpx(inside="<a>" * 200000))


def long_attribute():
    return runs(gpx(inside='<metadata a="' + "a" * 5000000 + '"/>'))


def many_attributes():
    return runs(gpx(inside="<metadata " + "".join(f'a{i}="" ' for i in range(5000)) + "/>"))


def long_text():
    return runs(gpx(inside="<name>" + "a" * 5000000 + "</name>"))


def long_comment():
    return runs(gpx(inside="<!--" + "a\n" * 6000000 + "-->"))


def long_instruction():
    return runs(gpx(before="<?a " + "a" * 11000000 + "?>"))


def long_cdata():
    return runs(gpx(inside="<name><![CDATA[" + "]] >" * 3000000 + "]]></name>"))


def open_comment():
    return runs(gpx(inside="<!--" + "-" * 3000000))


def many_elements():
    return runs(gpx(inside="<a/>" * 500000))


def many_names():
    return runs(gpx(inside="".join(f"<a{i}/>" for i in range(100000))))


def many_namespaces():
    return runs(gpx(inside="".join(f'<a xmlns:b{i}="c{i}"/>' for i in range(50000))))


def wrong_tag():
    return runs(gpx(inside="<a></b>"))


def nothing_xml_has():
    return runs(gpx(inside="<!a>"))


def stray_end():
    return runs(gpx(inside="<name>]]></name>"))


def utf16_that_says_utf8():
    return runs(b"\xff\xfe" + gpx().replace('"1.0"', '"1.0" encoding="UTF-8"').encode("utf-16le"))


def utf16_cut_in_half():
    return runs(gpx().encode("utf-16be")[:20001])


def utf32():
    return runs(gpx().encode("utf-32le"))


def lying_encoding():
    return runs(gpx(inside="<name>\u00e9</name>").replace('"1.0"', '"1.0" encoding="EBCDIC-CP-US"', 1).encode("latin-1"))


def nul_bytes():
    return runs(gpx(inside="<name>\0\0</name>", after="\0" * 100000))


def only_nul_bytes():
    return runs(b"\0" * 5000000)


def two_rides_in_a_file():
    return runs(gpx() + gpx())


# ---- gzip ----


def gzip_cut_in_head():
    return runs(gzip.compress(gpx().encode())[:7])


def gzip_cut():
    packed = gzip.compress(gpx().encode())
    return runs(packed[: len(packed) // 2])


def gzip_wrong_checksum():
    packed = bytearray(gzip.compress(gpx().encode()))
    packed[-6] ^= 1
    return runs(bytes(packed))


def gzip_damaged():
    packed = bytearray(gzip.compress(gpx().encode()))
    packed[12:16] = b"\xff" * 4
    return runs(bytes(packed))


def gzip_trailing():
    return runs(gzip.compress(gpx().encode()) + b"not gzip" * 1000)


def gzip_in_gzip():
    return runs(gzip.compress(gzip.compress(gpx().encode())))


def gzip_bomb():
    zeros = zlib.compressobj(9, zlib.DEFLATED, 31)
    with open("ride.gpx", "wb") as file:
        file.write(zeros.compress(gpx(inside="<name>")[:200].encode()))
        for _ in range(60):
            file.write(zeros.compress(b" " * 1000000))
        file.write(zeros.flush())
    return ["runs", "ride.gpx"]


def gzip_of_many_members():
    return runs(gzip.compress(gpx().encode()) + gzip.compress(b"") * 100000)


def endless_input():
    source = threading_pipe(lambda: b"<a/>" * 16384)
    return ["runs", "--limit-mb", "4", "-"], {"stdin": source}


def sparse_file():
    write("ride.gpx", gpx(inside="<name>")[:300])
    os.truncate("ride.gpx", 3 << 30)
    return ["runs", "--limit-mb", "10", "ride.gpx"]


def threading_pipe(chunk, before=None):
    """A pipe that a recording's beginning, or what is before, comes out of, and then chunk() for ever."""
    out, into = os.pipe()

    def feed():
        with os.fdopen(into, "wb") as pipe:
            try:
                pipe.write(before or gpx()[:20000].rpartition("<trkpt")[0].encode())
                while True:
                    pipe.write(chunk())
            except BrokenPipeError:
                pass

    threading.Thread(target=feed, daemon=True).start()
    return os.fdopen(out, "rb")


# ---- numbers, times, places ----


def numbers_that_are_none():
    body = "".join(
        point(i, ele=bad)
        for i, bad in enumerate(["nan", "inf", "-INF", "0x1p3", "1e999", "1e-999", "−5", "12abc", "1 2", "1.2.3", "", "+", "1e"] * 20)
    )
    return runs(gpx(body))


def decimal_commas():
    return runs(gpx(points().replace("900.0", "900,0")))


def digits_without_end():
    return runs(gpx(points(ele="9" * 200)))


def times_that_cannot_be_read():
    return runs(gpx(points(time="19/05/2024 9:{:02d}:{:02d}")))


def times_that_are_none():
    return runs(gpx(points().replace("<time>", "<a>").replace("</time>", "</a>")))


def year_0():
    return runs(gpx(points(time="0000-01-01T00:{:02d}:{:02d}Z")))


def year_1970():
    return runs(gpx(points(time="1970-01-01T00:{:02d}:{:02d}Z")))


def year_9999():
    return runs(gpx(points(time="9999-12-31T23:{:02d}:{:02d}Z")))


def year_10000():
    return runs(gpx(points(time="10000-01-01T00:{:02d}:{:02d}Z")))


def leap_second():
    return runs(gpx(point(0, time="2016-12-31T23:59:58Z") + point(1, time="2016-12-31T23:59:60Z") + points(time="2017-01-01T00:{:02d}:{:02d}Z")))


def no_such_day():
    return runs(gpx(points(time="2024-02-30T00:{:02d}:{:02d}Z")))


def pole():
    return runs(gpx(points(lat="89.99{:06d}")))


def date_line():
    return runs(gpx("".join(point(i, lat="-17.5", lon=f"{180 - i * 1e-4 if i < 150 else -180 + (i - 150) * 1e-4:.6f}") for i in range(300))))


def beyond_the_globe():
    return runs(gpx(points(lat="91.{:06d}")))


def no_such_heights():
    return runs(gpx("".join(point(i, ele=["-32768", "1e9"][i % 2]) for i in range(300))))


def speeds_of_a_million():
    return runs(gpx(points(more="<extensions><speed>1e6</speed></extensions>")))


def one_instant():
    same = point(0)
    return runs(gpx(same * 200000 + points()))


def times_at_random():
    body = "".join(point((i * 7919) % 3599, lat="47.1") for i in range(20000))
    return runs(gpx(body))


# ---- files ----


def folder():
    os.mkdir("empty")
    return ["runs", "empty"]


def device():
    return ["runs", "/dev/zero"]


def device_of_an_outing():
    return fit(outing("/dev/zero"))


def pipe_of_an_outing():
    os.mkfifo("pipe.gpx")
    return fit(outing("pipe.gpx"))


def pipe_as_air_log():
    os.mkfifo("log.csv")
    return fit(outing("ride.gpx\nair_log = log.csv"))


def folder_of_an_outing():
    os.mkdir("rides")
    return fit(outing("rides"))


def not_to_be_read():
    return ["runs", "/proc/self/mem"]


def loop_of_links():
    os.symlink("a.gpx", "b.gpx")
    os.symlink("b.gpx", "a.gpx")
    return ["runs", "a.gpx"]


def outing_that_names_itself():
    return fit(outing("outing.ini"))


def file_that_changes():
    write("ride.gpx", gpx(points() * 50))
    size = os.path.getsize("ride.gpx")

    def change():
        for i in range(400):
            try:
                os.truncate("ride.gpx", size * (i % 5) // 5)
            except OSError:
                return

    threading.Thread(target=change, daemon=True).start()
    return ["runs", "ride.gpx"]


# ---- outing files ----


def outing_of_a_million_lines():
    return fit("; nothing\n" * 1000000 + outing())


def outing_of_10000_setups():
    return fit(outing(setups="".join(f"[setup s{i}]\n" for i in range(10000))))


def order_of_10000():
    return fit(outing(more="[runs]\norder =" + ("\n " + "a " * 50) * 200 + "\n"))


def order_of_10001():
    return fit(outing(more="[runs]\norder =" + ("\n " + "a " * 50) * 200 + "\n a\n"))


def outing_of_10001_recordings():
    """Their number is looked at before they are: none of these is there."""
    return fit(outing("".join(f"\n r{i}.gpx" for i in range(10001))))


def outing_with_nul_bytes():
    return fit(outing().encode() + b"\0[setup b]\n")


def outing_in_one_line():
    return fit("[outing]\nrecordings = " + "a" * 900000)


def outing_of_wrong_numbers():
    return fit(outing().replace("= 70", "= 1e999"))


def formula_in_csv():
    return demo("csv", "=cmd|'/c'!A1")


def formula_by_sign():
    return demo("csv", "@sum")


def text_turned_around():
    return demo("csv", "a\u202eb\u2066")


def text_turned_around_in_json():
    return demo("json", "a\u202eb\u2066")


def text_turned_around_in_a_message():
    return ["runs", "a\u202e\x1b[2Jb.gpx"]


def demo(form, name):
    os.symlink(os.path.join(FIXTURES, "demo/ride.tcx.gz"), "ride.tcx.gz")
    with open(DEMO, encoding="utf-8") as file:
        write("outing.ini", file.read().replace("cape", name))
    return ["runs", "--" + form, "outing.ini"]


# ---- results of comparing ----


def version():
    with open(os.path.join(FIXTURES, "../meson.build"), encoding="utf-8") as file:
        return re.search(r"version: '([\d.]+)'", file.read())[1]


def word(packed):
    """Bytes with a checksum that is theirs."""
    packed_64 = base64.urlsafe_b64encode(packed).decode()
    return f"{version()}.{hashlib.sha256(packed).hexdigest()}.{packed_64}"


def result(text, *options):
    return ["compare", "--from", write("was.json", text), *options]


def result_cut():
    return result('{"outings": [\n{"saved": "' + word(b"a" * 300)[:150])


def result_of_brackets():
    return result("{" + "[" * 20000000)


def result_of_nul_bytes():
    return result(b"{" + bytes(5000000))


def result_of_another_command():
    return result('{"coastwise": "0.1.0", "command": "fit", "outings": [{"name": "saved"}]}')


def result_of_another_version():
    return result('{"outings": [\n{"saved": "0.0.1' + word(b"a" * 300)[len(version()) :] + '"}]}')


def result_with_another_checksum():
    at = len(version()) + 1
    wrong = word(b"a" * 300)
    return result('{"saved": "' + wrong[:at] + "0" * 8 + wrong[at + 8 :] + '"}')


def result_of_any_bytes():
    return result('{"saved": "' + word(bytes(i * i % 251 for i in range(5000000))) + '"}')


def result_of_counts_beyond_all():
    return result('{"saved": "' + word(b"\xff" * 4000) + '"}')


def result_of_a_million_words():
    return result('{"all": [\n' + '{"saved": "x"},' * 1000000 + "{}]}")


def result_without_end():
    return ["compare", "--from", "-", "--limit-mb", "4"], {"stdin": threading_pipe(lambda: b" " * 65536, b"{")}


def result_that_is_a_bomb():
    return result(gzip.compress(b"{" + b" " * 60000000))


def result_that_is_a_device():
    return ["compare", "--from", "/dev/zero"]


def result_among_outings():
    return result('{"saved": "x"}', "--csv", DEMO)


# ---- roads to predict along ----


def predict(road, *options):
    return ["predict", "--road", road, "--cda", "0.35+-0.01", "--crr", "0.005", "--mass-kg", "80", *options]


def road_that_leaps():
    leaps = "".join(
        point(i % 10, time=f"20{24 + i // 10}-05-19T09:00:{i % 10:02d}Z", lon=f"{8 + 150 * (i // 10 % 2)}")
        for i in range(300)
    )
    return predict(write("ride.gpx", gpx(leaps)), "--whole")


def road_of_no_heights():
    return predict(write("ride.gpx", gpx(points(ele="{:.1e}9"))), "--whole")


def road_that_stands():
    return predict(write("ride.gpx", gpx("".join(point(0, time=f"2024-05-19T09:{i // 60:02d}:{i % 60:02d}Z") for i in range(300)))), "--whole")


def road_of_a_wall():
    walls = "".join(point(i, ele=f"{800 * (i // 50 % 2)}") for i in range(300))
    return predict(write("ride.gpx", gpx(walls)), "--whole", "--start-speed-ms", "20", "--csv")


def road_of_5000_slopes():
    return predict(",".join(["100:-5"] * 5000))


def road_without_drag():
    return predict("20000:-30", "--with", "cda=0,crr=0,power=3000,wind=-40")


def changes_of_5000():
    return predict("750:-10", "--with", ",".join(["load=1"] * 5000))


def road_picture_over_its_recording():
    return predict(write("ride.gpx", gpx()), "--whole", "--picture", "ride.gpx", "--force")


# ---- explaining ----


def explain(more="", setup="cape"):
    os.symlink(os.path.join(FIXTURES, "demo/ride.tcx.gz"), "ride.tcx.gz")
    with open(DEMO, encoding="utf-8") as file:
        write("outing.ini", file.read().replace("cape", setup) + more)
    return ["explain", "outing.ini"]


def explained_device():
    return fit(outing("/dev/zero"), "explain")


def explained_entity_bomb():
    entity_bomb()
    return fit(outing(), "explain")


def explained_to_a_full_disk():
    return explain(), {"stdout": open("/dev/full", "wb")}


def explained_formula():
    return explain(setup="=cmd()") + ["--csv"]


def explained_name_turned_around():
    return explain(setup="a\u202eb")


def explained_tapes_beyond_all():
    return explain("runout_m =" + " 1e5" * 8 + "\nrunout_uncertainty_m = 0.1\n")


# ---- beginning an outing file ----


def begun_from_an_entity_bomb():
    return ["start", entity_bomb()[1]]


def begun_over_notes():
    write("ride.ini", "; mine\n")
    return ["start", write("ride.gpx", gpx())]


def begun_as_its_recording():
    return ["start", write("ride.gpx", gpx()), "-o", "ride.gpx"]


def begun_with_controls():
    return ["start", write("ride.gpx", gpx()), "--setup", "a\033[2J"]


def added_to_a_device():
    return ["start", "--update", "/dev/zero", write("ride.gpx", gpx())]


def added_to_a_recording():
    return ["start", "--update", write("ride.gpx", gpx())]


def added_to_nul_bytes():
    return ["start", "--update", write("outing.ini", bytes(5000000))]


def added_to_a_mass_that_is_given():
    return fit(outing(), "start") + ["--update", "--rider-kg", "80"]


# ---- output ----


def report(target, *options):
    os.symlink(os.path.join(FIXTURES, "demo/ride.tcx.gz"), "ride.tcx.gz")
    with open(DEMO, encoding="utf-8") as file:
        text = file.read().partition("order =")[0]
    write("outing.ini", text + "order = cape jacket\nskip = 3 4 5 6 7 8\n")
    return ["report", "outing.ini", "--picture", "road", "-o", target, *options]


def output_over_a_foreign_recording():
    write("other.gpx", gpx())
    return report("other.gpx")


def output_over_notes():
    write("notes.html", "<!DOCTYPE html>\n<html><title>mine</title>")
    return report("notes.html")


def output_over_notes_by_force():
    write("made", "mine")
    return report("made", "--force")


def output_over_an_input_by_force():
    write("other.gpx", gpx())
    return report("outing.ini", "--force")


def output_over_a_page():
    write("made", '<!DOCTYPE html>\n<html lang="en-GB">\n<head>\n<meta charset="utf-8">\n<meta name="generator" content="coastwise">\nold')
    return report("made")


def output_over_a_picture():
    write("made", '<svg xmlns="http://www.w3.org/2000/svg" class="cw-picture cw-road" old')
    return report("made")


def output_keeps_mode():
    write("made", "")
    os.chmod("made", 0o600)
    return report("made")


def output_keeps_link():
    os.mkdir("folder")
    os.symlink("folder/page", "made")
    return report("made")


def output_of_a_long_name():
    return report("m" * 255)


def output_to_a_folder():
    os.mkdir("folder")
    return report("folder")


def output_full():
    return ["runs", DEMO], {"stdout": open("/dev/full", "wb")}


def interrupted():
    """The signal waits until the process is what it is meant for."""

    def after(process):
        process.send_signal(signal.SIGINT)

    return report("made"), {"after": after}


def plan(*more):
    return ["plan", "--cda", "0.4", "--crr", "0.005", "--mass-kg", "80", "--runs", "2", *more]


def plan_by_an_endless_road():
    source = threading_pipe(lambda: b"<a/>" * 16384)
    return plan("--limit-mb", "4", "--road", "-"), {"stdin": source}


def plan_like_a_recording():
    write("ride.gpx", gpx())
    return plan("--like", "ride.gpx")


def plan_by_a_name_that_is_markup():
    return plan("--road", "300:-6", "--setups", "<script>,\u202e&\"'", "--sheet", "made")


def plan_over_an_outing_file():
    write("outing.ini", "[outing]\n")
    return plan("--road", "300:-6", "--outing", "outing.ini")


def plan_of_10000_setups():
    return plan("--road", "300:-6", "--setups", ",".join(f"s{i}" for i in range(10000)))


def plan_of_5000_slopes():
    return plan("--road", ",".join(["5:-6"] * 5000))


def plan_of_a_wall():
    return plan("--road", "1000:-30")


def plan_by_a_bomb():
    gzip_bomb()
    return plan("--road", "ride.gpx")


def plan_sheet_over_a_device():
    return plan("--road", "300:-6", "--sheet", "/dev/full")


def begun_from_an_endless_pipe():
    return ["start", "--limit-mb", "4", "-"], {"stdin": threading_pipe(lambda: b"<a/>" * 16384)}


def begun_from_10000_labels():
    return ["start", write("ride.gpx", gpx()), "--order", "a " * 10000]


def road_that_is_a_bomb():
    gzip_bomb()
    return predict("ride.gpx")


def road_that_is_a_device():
    return predict("/dev/zero")
