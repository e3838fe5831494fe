using System.Buffers;
using System.Reflection;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Seals;
using NodaTime.Text;

namespace Contracts.Store.Dossiers;

/// <summary>
/// The files of a dossier, each a function of its parts: the same parts give the same bytes, so that a verifier makes them again
/// and holds them against what it was given. The layout is a bag (RFC 8493).
/// </summary>
internal static class DossierFiles
{
    public const string Request = "data/request.json";
    public const string Events = "data/events.jsonl";
    public const string Reference = "data/reference.jsonl";
    public const string Heads = "data/log/heads.jsonl";
    public const string Checkpoint = "data/log/checkpoint.txt";
    public const string Anchor = "data/log/anchor.json";
    public const string AnchorProof = "data/log/anchor.tlog-proof";
    public const string EarlierFolder = "data/log/earlier/";
    public const string MonthEnd = "data/log/month-end.json";
    public const string MonthEndProof = "data/log/month-end.tlog-proof";
    public const string StampsFolder = "data/log/stamps/";
    public const string PapersFolder = "data/papers/";
    public const string Disclosures = "data/disclosures.txt";
    public const string Policy = "data/policy.txt";
    public const string State = "data/result/state.json";
    public const string Manifest = "manifest-sha256.txt";
    public const string Script = "data/verify.py";

    /// <summary>Those that a later program may write otherwise, and that nothing rests on.</summary>
    public static readonly string[] OfTheProgram = [Script, "data/README.txt"];

    /// <summary>Every file by its name, in the order of the names.</summary>
    public static SortedDictionary<string, byte[]> Of(DossierParts parts)
    {
        var replay = DossierReplay.Of(parts);
        var state = DossierReplay.Json(replay.State, parts.Request.Known);
        var best = DossierReplay.Json(replay.Best, parts.Request.Known);
        var files = new SortedDictionary<string, byte[]>(StringComparer.Ordinal)
        {
            [Request] = RequestJson(parts.Request),
            [Events] = Lines(parts.Streams[0].Events.Select(Line)),
            [Reference] = Lines(parts.Streams.Skip(1).SelectMany(stream => stream.Events).Select(Line)),
            [Heads] = Lines(parts.Streams.Select(stream => stream.HeadProof)),
            [Checkpoint] = parts.Checkpoint,
            [Anchor] = parts.Anchor,
            [AnchorProof] = parts.AnchorProof,
            [Policy] = parts.Policy,
            [State] = state,
            ["data/result/best-known.json"] = best,
            ["data/result/diff.json"] = DossierDiff.Json(state, best),
            ["data/result/timeline.json"] = Timeline(replay),
            ["data/result/totals.csv"] = TotalsCsv(replay.State),
            ["data/result/account.html"] = DossierPage.Html(parts, replay, state),
            ["data/README.txt"] = Resource("README.txt"),
            [Script] = Resource("verify.py"),
        };
        Sides(files, parts);
        foreach (var pack in new[] { replay.State.Law, replay.Best.Law }.OfType<Contracts.Law.LawPack>())
        {
            files[$"data/rules/law/{pack.Reference}.json"] = pack.File.ToArray();
        }

        Bag(files);
        return files;
    }

    /// <summary>The file of a paper; every paper is a page of HTML.</summary>
    public static string PaperOf(int version) => string.Create(System.Globalization.CultureInfo.InvariantCulture, $"{PapersFolder}{version:0000}.html");

    /// <summary>The file of a time stamp.</summary>
    public static string StampOf(StampPart stamp) => string.Create(System.Globalization.CultureInfo.InvariantCulture, $"{StampsFolder}{stamp.Size}.{stamp.Number}.tst");

    /// <summary>What is there only where it is so: earlier heads, a closed month, papers, facts that this reader is told.</summary>
    private static void Sides(SortedDictionary<string, byte[]> files, DossierParts parts)
    {
        foreach (var head in parts.Earlier)
        {
            var size = SizeOf(head.Note);
            files[$"{EarlierFolder}{size}.txt"] = head.Note;
            files[$"{EarlierFolder}{size}.proof"] = head.Proof;
        }

        if (parts.MonthEnd is { } month) { (files[MonthEnd], files[MonthEndProof]) = (month.Anchor, month.AnchorProof); }
        foreach (var stamp in parts.Stamps) { files[StampOf(stamp)] = stamp.Token; }
        foreach (var paper in parts.Papers) { files[PaperOf(paper.Version)] = paper.Bytes; }
        if (!parts.Disclosures.IsEmpty) { files[Disclosures] = Lines(parts.Disclosures.Select(Encoding.UTF8.GetBytes)); }
    }

    /// <summary>Adds the tags of a bag: what it is, and the digests of everything.</summary>
    internal static void Bag(SortedDictionary<string, byte[]> files)
    {
        var manifest = new StringBuilder();
        foreach (var (name, bytes) in files) { manifest.Append(Hex(bytes)).Append("  ").Append(name).Append('\n'); }
        var octets = files.Values.Sum(bytes => (long)bytes.Length);
        var count = files.Count;
        files["bagit.txt"] = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"u8.ToArray();
        files["bag-info.txt"] = Encoding.UTF8.GetBytes(string.Create(
            System.Globalization.CultureInfo.InvariantCulture, $"Payload-Oxum: {octets}.{count}\nBag-Software-Agent: contracts dossier, form 1\n"));
        files[Manifest] = Encoding.UTF8.GetBytes(manifest.ToString());
        var tags = new StringBuilder();
        foreach (var name in new[] { "bag-info.txt", "bagit.txt", Manifest }) { tags.Append(Hex(files[name])).Append("  ").Append(name).Append('\n'); }
        files["tagmanifest-sha256.txt"] = Encoding.UTF8.GetBytes(tags.ToString());
    }

    internal static byte[] RequestJson(DossierRequest request) => Canonical(json =>
    {
        json.WriteString("by", request.By);
        json.WriteString("contract", request.Contract);
        json.WriteNumber("form", 1);
        json.WriteString("known", InstantPattern.ExtendedIso.Format(request.Known));
        json.WriteString("madeAt", InstantPattern.ExtendedIso.Format(request.MadeAt));
        json.WriteString("on", LocalDatePattern.Iso.Format(request.On));
        json.WriteString("purpose", request.Purpose);
    });

    /// <summary>One line an event: its entry, its headers and its payload, as they are.</summary>
    internal static byte[] Line(DossierEvent one) =>
        [.. "{\"entry\":"u8, .. one.Entry, .. ",\"headers\":"u8, .. one.Headers, .. ",\"payload\":"u8, .. one.Payload, .. "}"u8];

    private static byte[] Timeline(DossierReplay replay) => Canonical(json =>
    {
        json.WriteStartArray("events");
        foreach (var entry in replay.All.Entries)
        {
            json.WriteStartObject();
            json.WriteString("event", EventNames.Of(entry.Event));
            json.WriteString("key", entry.Key);
            json.WriteBoolean("known", replay.History.Entries.Any(one => one.Sequence == entry.Sequence));
            json.WriteString("on", LocalDatePattern.Iso.Format(entry.Event.On));
            json.WriteBoolean("overtaken", replay.State.IsOvertaken(entry.Sequence));
            json.WriteString("recordedAt", InstantPattern.ExtendedIso.Format(entry.At));
            json.WriteNumber("sequence", entry.Sequence);
            json.WriteEndObject();
        }

        json.WriteEndArray();
    });

    /// <summary>The totals that papers show, each as the events that make it (RFC 4180); no cell begins with a sign that a spreadsheet takes for a formula.</summary>
    private static byte[] TotalsCsv(AccountState state)
    {
        var text = new StringBuilder("figure,amount,sequence,on,key,says,part\r\n");
        foreach (var total in TracedTotal.Of(state))
        {
            text.Append(total.Figure).Append(',').Append(total.Amount).Append(",,,,,\r\n");
            foreach (var part in total.Parts)
            {
                text.Append(total.Figure).Append(",,").Append(part.Sequence).Append(',').Append(LocalDatePattern.Iso.Format(part.On)).Append(',')
                    .Append(Cell(part.Key)).Append(',').Append(Cell(part.Says)).Append(',').Append(part.Amount).Append("\r\n");
            }
        }

        return Encoding.UTF8.GetBytes(text.ToString());
    }

    private static string Cell(string text)
    {
        if (text.Length > 0 && "=+-@\t\r".Contains(text[0], StringComparison.Ordinal)) { text = $"'{text}"; }
        return $"\"{text.Replace("\"", "\"\"", StringComparison.Ordinal)}\"";
    }

    /// <summary>The size that a head states; only names depend on it.</summary>
    internal static long SizeOf(byte[] note) =>
        SignedNote.Parse(note).TryGet(out var signed, out _) && Contracts.Seals.Checkpoint.Parse(signed.Text).TryGet(out var head, out _) ? head.Size : 0;

    private static byte[] Lines(IEnumerable<byte[]> lines) => [.. lines.SelectMany(line => line.Append((byte)'\n'))];

    private static byte[] Canonical(Action<Utf8JsonWriter> write)
    {
        var buffer = new ArrayBufferWriter<byte>(1024);
        using (var json = new Utf8JsonWriter(buffer))
        {
            json.WriteStartObject();
            write(json);
            json.WriteEndObject();
        }

        return CanonicalJson.Restricted(buffer.WrittenSpan).Value;
    }

    private static byte[] Resource(string name)
    {
        using var stream = Assembly.GetExecutingAssembly().GetManifestResourceStream($"dossier.{name}")
            ?? throw new InvalidOperationException($"The program was built without {name}.");
        using var bytes = new MemoryStream();
        stream.CopyTo(bytes);
        return bytes.ToArray();
    }

    internal static string Hex(byte[] bytes) => Convert.ToHexStringLower(SHA256.HashData(bytes));
}
