using System.Collections.Immutable;
using System.Text;
using System.Text.Json;
using Contracts.History;
using Contracts.Seals;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Store.Dossiers;

/// <summary>How a dossier stands.</summary>
public enum DossierStanding
{
    /// <summary>Everything holds.</summary>
    Holds,

    /// <summary>Something was altered, left out or added.</summary>
    Altered,

    /// <summary>It cannot be told: a key is not known, a part is missing, or another program's rules made the figures.</summary>
    CannotTell,
}

/// <summary>What a verifier found.</summary>
/// <param name="Standing">Whether it holds.</param>
/// <param name="Fault">What is wrong, or null.</param>
/// <param name="Proved">What was found to hold, in sentences.</param>
/// <param name="NotProved">What nobody should read into it.</param>
public sealed record DossierVerdict(DossierStanding Standing, DossierFault? Fault, ImmutableArray<string> Proved, ImmutableArray<string> NotProved);

/// <summary>
/// Checks a dossier with nothing but its bytes and a public key: no database, no network, no clock. It believes no file that it can
/// make again, and makes every one again.
/// </summary>
public static class DossierVerifier
{
    /// <summary>Checks a dossier.</summary>
    /// <param name="bytes">The ZIP.</param>
    /// <param name="policy">The keys to believe, as a C2SP tlog-policy; null to believe the dossier's own, which then proves less.</param>
    /// <param name="earlier">A signed head of the same log that the reader kept; the dossier's must not be smaller. Null where there is none.</param>
    public static DossierVerdict Verify(byte[] bytes, byte[]? policy = null, byte[]? earlier = null)
    {
        var (files, fault) = DossierZip.Read(bytes);
        if (files is null) { return Bad(fault!); }
        if (Manifest(files) is { } damaged) { return Bad(damaged); }
        var (parts, unread) = DossierParser.Parse(files);
        if (parts is null) { return unread!.Code == "form-unknown" ? Unsure(unread) : Bad(unread); }
        if (!TlogPolicy.Parse(policy ?? parts.Policy).TryGet(out var keys, out var wrong)) { return Bad(new DossierFault("policy-malformed", wrong.Detail)); }
        if (!keys.Open(parts.Checkpoint).TryGet(out var head, out wrong))
        {
            var unknown = wrong.Kind is SealFaultKind.SignatureUnknown or SealFaultKind.OriginDiffers or SealFaultKind.QuorumMissed;
            return unknown ? Unsure(new DossierFault("key-unknown", wrong.Detail)) : Bad(new DossierFault(wrong.Slug, $"{DossierFiles.Checkpoint}: {wrong.Detail}"));
        }

        if (earlier is not null && Earlier(keys, earlier, head.Checkpoint) is { } older) { return older; }
        if (Log(parts, head.Checkpoint) is { } broken) { return Bad(broken); }
        return Figures(parts, files, policy is not null, head.Checkpoint);
    }

    private static DossierFault? Manifest(SortedDictionary<string, byte[]> files)
    {
        foreach (var (list, data) in new[] { ("tagmanifest-sha256.txt", false), (DossierFiles.Manifest, true) })
        {
            if (!files.TryGetValue(list, out var text)) { return new DossierFault("file-missing", $"There is no {list}."); }
            var named = new HashSet<string>(StringComparer.Ordinal);
            foreach (var line in Encoding.UTF8.GetString(text).Split('\n', StringSplitOptions.RemoveEmptyEntries))
            {
                if (line.Length < 67 || line[64..66] != "  " || !named.Add(line[66..]))
                {
                    return new DossierFault("manifest-malformed", $"{list}: a line is not a digest and a name.");
                }

                if (!files.TryGetValue(line[66..], out var bytes)) { return new DossierFault("file-missing", $"{line[66..]} is listed and not there."); }
                if (DossierFiles.Hex(bytes) != line[..64]) { return new DossierFault("file-altered", $"{line[66..]} has another digest than listed."); }
            }

            if (!data) { continue; }
            if (files.Keys.FirstOrDefault(name => name.StartsWith("data/", StringComparison.Ordinal) && !named.Contains(name)) is { } extra)
            {
                return new DossierFault("file-added", $"{extra} is there and not listed.");
            }
        }

        return null;
    }

    private static DossierVerdict? Earlier(TlogPolicy keys, byte[] earlier, Checkpoint head)
    {
        if (!keys.Open(earlier).TryGet(out var kept, out var fault)) { return Unsure(new DossierFault("key-unknown", $"The earlier head: {fault.Detail}")); }
        if (kept.Checkpoint.Size < head.Size) { return null; }
        return kept.Checkpoint == head
            ? null
            : Bad(new DossierFault("log-forked", $"The head you kept has {kept.Checkpoint.Size} leaves, the dossier's has {head.Size} and is not the same log."));
    }

    /// <summary>Signed head, anchor, heads of streams, events: each rests on the one before.</summary>
    private static DossierFault? Log(DossierParts parts, Checkpoint head)
    {
        if (!LogEntry.Parse<AnchorEntry>(parts.Anchor).TryGet(out var anchor, out var fault)) { return At(DossierFiles.Anchor, fault); }
        if (!TlogProof.Parse(parts.AnchorProof).TryGet(out var proof, out fault)) { return At(DossierFiles.AnchorProof, fault); }
        if (proof.CheckpointNote != Encoding.UTF8.GetString(parts.Checkpoint)) { return new DossierFault("proof-root-differs", "The anchor's proof is of another head."); }
        if (proof.Verify(anchor.LeafHash(), head) is { } notIn) { return At(DossierFiles.AnchorProof, notIn); }
        if (anchor.Log != head.Origin) { return new DossierFault("origin-differs", "The anchor is of another log."); }
        if (parts.Request.Known > anchor.At) { return new DossierFault("known-after-anchor", "The moment asked for is after the anchor, up to which the events are complete."); }
        foreach (var stream in parts.Streams)
        {
            if (Stream(stream, anchor) is { } broken) { return broken; }
        }

        return null;
    }

    private static DossierFault? Stream(StreamPart stream, AnchorEntry anchor)
    {
        if (!HeadProofText.Parse(stream.HeadProof).TryGet(out var proof, out var fault)) { return At($"{DossierFiles.Heads} {stream.Stream}", fault); }
        if (proof.Verify(DossierParts.Tenant, stream.Stream, anchor.HeadCount, anchor.Heads) is { } wrong) { return At($"{DossierFiles.Heads} {stream.Stream}", wrong); }
        var previous = default(Digest?);
        for (var index = 0; index < stream.Events.Length; index++)
        {
            var (one, place) = (stream.Events[index], $"{stream.Stream} version {index + 1}");
            if (!LogEntry.Parse<EventEntry>(one.Entry).TryGet(out var entry, out fault)) { return At(place, fault); }
            if (entry.Stream != stream.Stream || entry.StreamVersion != index + 1)
            {
                return new DossierFault("event-out-of-place", $"{place}: the entry is of {entry.Stream} version {entry.StreamVersion}.");
            }

            if (entry.Log != anchor.Log || entry.Tenant != DossierParts.Tenant) { return new DossierFault("origin-differs", $"{place}: the entry is of another log."); }
            if (entry.Data != Digest.Of(one.Payload)) { return new DossierFault("payload-altered", $"{place}: the payload is not the sealed one."); }
            if (entry.Headers != Digest.Of(one.Headers)) { return new DossierFault("headers-altered", $"{place}: the headers are not the sealed ones."); }
            if (entry.Previous != (previous ?? default)) { return new DossierFault("chain-broken", $"{place}: it does not follow the event before."); }
            previous = entry.LeafHash();
        }

        var head = proof.Found?.Head;
        if ((head?.StreamVersion ?? 0) != stream.Events.Length || (head is not null && head.Leaf != previous))
        {
            return new DossierFault(
                "events-left-out", $"{stream.Stream}: the anchor has {head?.StreamVersion ?? 0} events, the dossier {stream.Events.Length}, or the last is another.");
        }

        return null;
    }

    private static DossierVerdict Figures(DossierParts parts, SortedDictionary<string, byte[]> files, bool keyIsReaders, Checkpoint head)
    {
        SortedDictionary<string, byte[]> made;
        try
        {
            made = DossierFiles.Of(parts);
        }
        catch (Exception cannot) when (cannot is StoreException or ImpossibleHistoryException or JsonException or InvalidOperationException or OverflowException)
        {
            return Unsure(new DossierFault("cannot-replay", $"This program's rules cannot live these events: {cannot.Message}"));
        }

        var rests = made.Keys.Where(name => name.StartsWith("data/", StringComparison.Ordinal)).Except(DossierFiles.OfTheProgram);
        foreach (var name in rests.OrderBy(name => name == DossierFiles.State ? 0 : 1).ThenBy(name => name, StringComparer.Ordinal))
        {
            if (!files.TryGetValue(name, out var given)) { return Bad(new DossierFault("file-missing", $"There is no {name}.")); }
            if (!given.AsSpan().SequenceEqual(made[name])) { return Bad(new DossierFault("figures-differ", $"{name} is not what this program's rules make of the events.")); }
        }

        if (files.Keys.FirstOrDefault(name => !made.ContainsKey(name)) is { } extra) { return Bad(new DossierFault("file-added", $"{extra} is not part of a dossier.")); }
        if (DossierFiles.OfTheProgram.FirstOrDefault(name => !files.TryGetValue(name, out var given) || !given.AsSpan().SequenceEqual(made[name])) is { } other)
        {
            return Unsure(new DossierFault("other-program", $"{other} is not this program's; everything that rests on events holds. Use a copy that you trust."));
        }

        if (made.FirstOrDefault(pair => !files.TryGetValue(pair.Key, out var given) || !given.AsSpan().SequenceEqual(pair.Value)).Key is { } tag)
        {
            return Bad(new DossierFault("file-altered", $"{tag} is not what the other files make it."));
        }

        return new DossierVerdict(
            DossierStanding.Holds, null,
            [
                $"The log {head.Origin} has signed a head of {head.Size} leaves{(keyIsReaders ? ", by a key that you gave" : "")}.",
                $"The {parts.Streams[0].Events.Length} events of {parts.Request.Contract} are in it, in their order, and none up to the anchor is left out.",
                $"So are the taxes and law packs that they name ({string.Join(", ", parts.Streams.Skip(1).Select(stream => $"{stream.Stream}: {stream.Events.Length}"))}).",
                "The figures, the page and every other file are what this program's rules make of those events.",
            ],
            [
                .. keyIsReaders
                    ? Array.Empty<string>()
                    : ["That the key is the shop's: it came with the dossier. Compare data/policy.txt with what was published, and give it by --policy."],
                "That what was typed in is true; that nothing was recorded after the anchor; that no second log was signed; who asked for this, why and when.",
                "Rent-to-own rules vary by state; what the figures mean in law is for counsel to say.",
            ]);
    }

    private static DossierFault At(string place, SealFault fault) => new(fault.Slug, $"{place}: {fault.Detail}");

    private static DossierVerdict Bad(DossierFault fault) => new(DossierStanding.Altered, fault, [], []);

    private static DossierVerdict Unsure(DossierFault fault) => new(DossierStanding.CannotTell, fault, [], []);
}
