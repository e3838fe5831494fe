using System.Security.Cryptography.X509Certificates;
using System.Text;
using Contracts.Agreements;
using Contracts.Seals;
using Contracts.Store.Json;
using Contracts.Store.Seals;
using Contracts.Store.Vault;

namespace Contracts.Store.Dossiers;

/// <summary>What stands beside the events: earlier heads, the last month-end, papers, and what is told of the family.</summary>
internal static class DossierSidesCheck
{
    public static DossierFault? Run(DossierParts parts, TlogPolicy keys, Checkpoint head, X509Certificate2Collection? roots) =>
        Heads(parts, keys, head) ?? MonthEnd(parts, keys, head) ?? Stamps(parts, roots) ?? Papers(parts) ?? Disclosures(parts);

    /// <summary>The papers that the contract's events say were given out, by the version of the event.</summary>
    public static IEnumerable<(int Version, ContractEvent.DocumentIssued Event)> Issued(StreamPart contract)
    {
        for (var index = 0; index < contract.Events.Length; index++)
        {
            if (!LogEntry.Parse<EventEntry>(contract.Events[index].Entry).TryGet(out var entry, out _)) { continue; }
            if (EventJson.Read(Encoding.UTF8.GetBytes(entry.Type), contract.Events[index].Payload) is ContractEvent.DocumentIssued issued) { yield return (index + 1, issued); }
        }
    }

    /// <summary>What holds beyond events and figures, in sentences.</summary>
    public static IEnumerable<string> Proved(DossierParts parts, X509Certificate2Collection? roots)
    {
        foreach (var stamp in parts.Stamps)
        {
            if (TimeStampCheck.Verify(stamp.Token, NoteOf(parts, stamp.Size)!, roots).Stamp is { IsRooted: true } said)
            {
                yield return $"The head of {stamp.Size} leaves existed by {said.At}, says {said.Authority}, whose root you gave.";
            }
        }

        if (parts.MonthEnd is { } month)
        {
            yield return $"The log continues what it was when {LogEntry.Parse<AnchorEntry>(month.Anchor).Value.Period} was closed.";
        }

        if (parts.Papers.Length > 0) { yield return $"{parts.Papers.Length} papers have the bytes that were given out."; }
        if (parts.Disclosures.Length > 0) { yield return $"{parts.Disclosures.Length} facts about the family are those that were recorded."; }
        yield return "All files were put together by who holds the log's key.";
    }

    /// <summary>What is missing of it.</summary>
    public static IEnumerable<string> NotProved(DossierParts parts, X509Certificate2Collection? roots)
    {
        if (roots is null && parts.Stamps.Length > 0) { yield return "Who made the time stamps under data/log/stamps: give the authority's root by --tsa-root, as you know it."; }
        var missing = Issued(parts.Streams[0]).Select(issued => issued.Version).Except(parts.Papers.Select(paper => paper.Version)).ToList();
        if (missing.Count > 0)
        {
            yield return $"The bytes of the papers of versions {string.Join(", ", missing)}: they could not be made again. Hold the family's copy against the digest in the event.";
        }
    }

    private static DossierFault? Heads(DossierParts parts, TlogPolicy keys, Checkpoint head)
    {
        var last = 0L;
        foreach (var one in parts.Earlier)
        {
            if (!keys.Open(one.Note).TryGet(out var earlier, out var fault)) { return DossierLogCheck.At(DossierFiles.EarlierFolder, fault); }
            var place = $"{DossierFiles.EarlierFolder}{earlier.Checkpoint.Size}";
            if (ConsistencyText.Read(one.Proof) is not { } proof) { return new DossierFault("dossier-malformed", $"{place}.proof is not written as a dossier writes it."); }
            if (earlier.Checkpoint.Origin != head.Origin) { return new DossierFault("origin-differs", $"{place}.txt is of another log."); }
            if (proof.OldSize != earlier.Checkpoint.Size || proof.NewSize != head.Size || earlier.Checkpoint.Size <= last)
            {
                return new DossierFault("proof-index-outside", $"{place}.proof is of other sizes.");
            }

            if (proof.Verify(earlier.Checkpoint.Root, head.Root) is { } wrong) { return DossierLogCheck.At($"{place}.proof", wrong); }
            last = earlier.Checkpoint.Size;
        }

        return null;
    }

    private static DossierFault? MonthEnd(DossierParts parts, TlogPolicy keys, Checkpoint head)
    {
        if (parts.MonthEnd is not { } month) { return null; }
        if (!LogEntry.Parse<AnchorEntry>(month.Anchor).TryGet(out var anchor, out var fault)) { return DossierLogCheck.At(DossierFiles.MonthEnd, fault); }
        if (!TlogProof.Parse(month.AnchorProof).TryGet(out var proof, out fault)) { return DossierLogCheck.At(DossierFiles.MonthEndProof, fault); }
        if (anchor.Reason != AnchorReason.MonthEnd || anchor.Log != head.Origin)
        {
            return new DossierFault("origin-differs", $"{DossierFiles.MonthEnd} is of no closed month of this log.");
        }

        var note = Encoding.UTF8.GetBytes(proof.CheckpointNote);
        if (!parts.Earlier.Select(one => one.Note).Append(parts.Checkpoint).Any(known => known.AsSpan().SequenceEqual(note)))
        {
            return new DossierFault("proof-root-differs", $"{DossierFiles.MonthEndProof} is of a head that is not in the dossier.");
        }

        if (!keys.Open(note).TryGet(out var closed, out fault)) { return DossierLogCheck.At(DossierFiles.MonthEndProof, fault); }
        return proof.Verify(anchor.LeafHash(), closed.Checkpoint) is { } wrong ? DossierLogCheck.At(DossierFiles.MonthEndProof, wrong) : null;
    }

    private static DossierFault? Stamps(DossierParts parts, X509Certificate2Collection? roots)
    {
        foreach (var stamp in parts.Stamps)
        {
            var name = DossierFiles.StampOf(stamp);
            if (NoteOf(parts, stamp.Size) is not { } note) { return new DossierFault("file-added", $"{name} is of a head that is not in the dossier."); }
            if (TimeStampCheck.Verify(stamp.Token, note, roots).Fault is { } fault) { return new DossierFault(fault.Code, $"{name}: {fault.Detail}"); }
        }

        return null;
    }

    private static byte[]? NoteOf(DossierParts parts, long size) =>
        parts.Earlier.Select(one => one.Note).Append(parts.Checkpoint).FirstOrDefault(note => DossierFiles.SizeOf(note) == size);

    private static DossierFault? Papers(DossierParts parts)
    {
        var issued = Issued(parts.Streams[0]).ToDictionary(one => one.Version, one => one.Event);
        foreach (var paper in parts.Papers)
        {
            var name = DossierFiles.PaperOf(paper.Version);
            if (!issued.TryGetValue(paper.Version, out var said)) { return new DossierFault("file-added", $"{name}: no such paper was given out."); }
            if (DossierFiles.Hex(paper.Bytes) != said.Digest) { return new DossierFault("paper-altered", $"{name} has not the bytes that were given out."); }
        }

        return null;
    }

    private static DossierFault? Disclosures(DossierParts parts)
    {
        if (parts.Disclosures.IsEmpty) { return null; }
        var digests = parts.Streams.Skip(1).SelectMany(stream => stream.Events)
            .Select(one => EventJson.Read(Encoding.UTF8.GetBytes(LogEntry.Parse<EventEntry>(one.Entry).Value.Type), one.Payload))
            .OfType<HouseholdDescribed>().SelectMany(told => told.Digests).ToHashSet(StringComparer.Ordinal);
        foreach (var text in parts.Disclosures)
        {
            if (!SaltedDisclosure.Parse(text).TryGet(out var fact, out var fault)) { return DossierLogCheck.At(DossierFiles.Disclosures, fault); }
            if (fact.HeldBy(digests) is { } wrong) { return DossierLogCheck.At(DossierFiles.Disclosures, wrong); }
        }

        return null;
    }
}
