using System.Text;
using Contracts.Seals;

namespace Contracts.Store.Dossiers;

/// <summary>That the events are those of the log, all of them, each as it was sealed.</summary>
internal static class DossierLogCheck
{
    /// <summary>Signed head, anchor, heads of streams, events: each rests on the one before.</summary>
    public static DossierFault? Run(DossierParts parts, Checkpoint head)
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

    internal static DossierFault At(string place, SealFault fault) => new(fault.Slug, $"{place}: {fault.Detail}");
}
