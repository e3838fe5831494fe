using System.Text;
using Contracts.Seals;
using Contracts.Store.Seals;

namespace Contracts.Store.Dossiers;

/// <summary>Earlier heads for a dossier: of the last closed month, of the checkpoint that was asked for, and the one that the reader keeps; and the stamps over them.</summary>
internal sealed class DossierHeads(SealReader seals, StampBook stamps, StoredCheckpoint head)
{
    public async Task<DossierParts> AddAsync(DossierParts parts, DossierExtras extras, CancellationToken stop)
    {
        var earlier = new SortedDictionary<long, string>();
        if (await seals.LastMonthEndAsync(head.Size, stop).ConfigureAwait(false) is { } month
            && await seals.CheckpointFromAsync(month.Index + 1, stop).ConfigureAwait(false) is { } closed && closed.Size <= head.Size)
        {
            var inclusion = await seals.InclusionAsync(month.Index, closed.Size, stop).ConfigureAwait(false);
            parts = parts with { MonthEnd = new MonthEndPart(month.EntryBytes, new TlogProof(month.Index, inclusion.Path, closed.Note).ToBytes()) };
            earlier[closed.Size] = closed.Note;
        }

        if (extras.KnownSize is { } size && await seals.CheckpointAsync(size, stop).ConfigureAwait(false) is { } asked) { earlier[size] = asked.Note; }
        if (extras.Since is { } kept)
        {
            var since = DossierFiles.SizeOf(kept);
            if (since < 1 || since > head.Size) { throw new StoreException($"The head in --since has {since} leaves; the log has {head.Size} that are signed."); }
            earlier[since] = Encoding.UTF8.GetString(kept);
        }

        earlier.Remove(head.Size);
        var heads = new List<EarlierHead>();
        foreach (var (at, note) in earlier)
        {
            heads.Add(new EarlierHead(Encoding.UTF8.GetBytes(note), ConsistencyText.Write(await seals.ConsistencyAsync(at, head.Size, stop).ConfigureAwait(false))));
        }

        var stamped = (await stamps.ListAsync(head.Size, stop).ConfigureAwait(false)).Where(stamp => stamp.Size == head.Size || earlier.ContainsKey(stamp.Size));
        return parts with
        {
            Earlier = [.. heads],
            Stamps = [.. stamped.GroupBy(stamp => stamp.Size).SelectMany(group => group.Select((stamp, index) => new StampPart(stamp.Size, index + 1, stamp.Token)))],
        };
    }
}
