using System.Collections.Immutable;
using System.Runtime.InteropServices;
using System.Text;
using System.Text.Json;
using Contracts.Seals;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Store.Dossiers;

/// <summary>Takes the parts out of a dossier's files; what is not exactly as it is written is refused.</summary>
internal static class DossierParser
{
    private const int MostLines = 100_000;

    public static (DossierParts? Parts, DossierFault? Fault) Parse(SortedDictionary<string, byte[]> files)
    {
        string[] needed =
        [
            DossierFiles.Request, DossierFiles.Events, DossierFiles.Reference, DossierFiles.Heads, DossierFiles.Checkpoint, DossierFiles.Anchor,
            DossierFiles.AnchorProof, DossierFiles.Policy,
        ];
        if (needed.FirstOrDefault(name => !files.ContainsKey(name)) is { } missing) { return (null, new DossierFault("file-missing", $"There is no {missing}.")); }
        try
        {
            var (request, fault) = Request(files[DossierFiles.Request]);
            if (request is null) { return (null, fault); }
            if (Events(files[DossierFiles.Events]) is not { } own) { return (null, Malformed(DossierFiles.Events)); }
            if (Events(files[DossierFiles.Reference]) is not { } others) { return (null, Malformed(DossierFiles.Reference)); }
            if (Lines(files[DossierFiles.Heads]) is not { } heads) { return (null, Malformed(DossierFiles.Heads)); }
            var names = DossierParts.ReferenceStreams(own);
            if (heads.Count != names.Length + 1)
            {
                return (null, new DossierFault("events-left-out", $"{DossierFiles.Heads} has {heads.Count} proofs; the events name {names.Length + 1} streams."));
            }

            var byStream = others.ToLookup(one => LogEntry.Parse<EventEntry>(one.Entry).TryGet(out var entry, out _) ? entry.Stream : "", StringComparer.Ordinal);
            var streams = names.Select((name, index) => new StreamPart(name, [.. byStream[name]], heads[index + 1]));
            var parts = new DossierParts(
                request, [new StreamPart(request.Contract, own, heads[0]), .. streams], files[DossierFiles.Checkpoint], files[DossierFiles.Anchor],
                files[DossierFiles.AnchorProof], files[DossierFiles.Policy]);
            if (!IsPolicy(files[DossierFiles.Policy])) { return (null, Malformed(DossierFiles.Policy)); }
            if (DossierSides.Parse(files, parts) is not { } whole) { return (null, Malformed("A file beside the events")); }
            parts = whole;

            // What belongs to no stream that the events name has no business here.
            return parts.Streams.Skip(1).Sum(stream => stream.Events.Length) == others.Length
                ? (parts, null)
                : (null, new DossierFault("event-out-of-place", "An event of another stream is among those that the contract names."));
        }
        catch (Exception broken) when (broken is JsonException or InvalidOperationException or StoreException or FormatException
            or KeyNotFoundException or ArgumentException or OverflowException)
        {
            return (null, new DossierFault("dossier-malformed", $"A file cannot be read: {broken.Message}"));
        }
    }

    private static (DossierRequest? Request, DossierFault? Fault) Request(byte[] bytes)
    {
        if (CanonicalJson.Check(bytes) is { } fault) { return (null, new DossierFault(fault.Slug, $"{DossierFiles.Request}: {fault.Detail}")); }
        using var json = JsonDocument.Parse(bytes);
        var root = json.RootElement;
        if (root.GetProperty("form").GetInt64() != 1) { return (null, new DossierFault("form-unknown", "This program reads dossiers of form 1.")); }
        var request = new DossierRequest(
            Text("contract"), LocalDatePattern.Iso.Parse(Text("on")).GetValueOrThrow(), InstantPattern.ExtendedIso.Parse(Text("known")).GetValueOrThrow(),
            InstantPattern.ExtendedIso.Parse(Text("madeAt")).GetValueOrThrow(), Text("by"), Text("purpose"));
        return bytes.AsSpan().SequenceEqual(DossierFiles.RequestJson(request)) ? (request, null) : (null, Malformed(DossierFiles.Request));

        string Text(string name) => root.GetProperty(name).GetString() ?? throw new FormatException(name);
    }

    private static ImmutableArray<DossierEvent>? Events(byte[] bytes)
    {
        if (Lines(bytes) is not { } lines) { return null; }
        var events = ImmutableArray.CreateBuilder<DossierEvent>(lines.Count);
        foreach (var line in lines)
        {
            if (CanonicalJson.Check(line) is not null) { return null; }
            using var json = JsonDocument.Parse(line);
            var one = new DossierEvent(Raw("entry"), Raw("payload"), Raw("headers"));
            if (!line.AsSpan().SequenceEqual(DossierFiles.Line(one))) { return null; }
            events.Add(one);

            byte[] Raw(string name) => JsonMarshal.GetRawUtf8Value(json.RootElement.GetProperty(name)).ToArray();
        }

        return events.ToImmutable();
    }

    /// <summary>A dossier's own policy has one spelling; a reader's may have any that C2SP allows.</summary>
    private static bool IsPolicy(byte[] bytes) => TlogPolicy.Parse(bytes).TryGet(out var policy, out _)
        && bytes.AsSpan().SequenceEqual(DossierParts.PolicyOf(policy.Logs));

    internal static List<byte[]>? Lines(byte[] bytes)
    {
        var lines = new List<byte[]>();
        var rest = bytes.AsSpan();
        while (!rest.IsEmpty)
        {
            var end = rest.IndexOf((byte)'\n');
            if (end < 0 || lines.Count >= MostLines) { return null; }
            lines.Add(rest[..end].ToArray());
            rest = rest[(end + 1)..];
        }

        return lines;
    }

    private static DossierFault Malformed(string name) => new("dossier-malformed", $"{name} is not written as a dossier writes it.");
}
