using System.Collections.Immutable;
using System.Text;
using Contracts.Seals;
using Contracts.Store.Seals;
using NodaTime;

namespace Contracts.Store.Dossiers;

/// <summary>Gathers a dossier from a sealed store.</summary>
public sealed class DossierMaker
{
    private readonly SealReader seals;

    internal DossierMaker(SealReader seals) => this.seals = seals;

    /// <summary>
    /// The dossier's bytes; everything recorded through the newest anchor under a signed head is in it. Seal with an anchor first to
    /// have what was recorded last.
    /// </summary>
    /// <exception cref="StoreException">Nothing is signed yet, the contract is not sealed, or what is stored is not what was sealed.</exception>
    public async Task<byte[]> MakeAsync(DossierRequest request, CancellationToken stop = default)
    {
        var head = await seals.LatestAsync(stop).ConfigureAwait(false) ?? throw new StoreException("Nothing is sealed and signed yet: run `contracts seal` first.");
        var anchor = await seals.AnchorAsync(head.Size, stop).ConfigureAwait(false) ?? throw new StoreException("The log has no anchor yet: run `contracts seal --anchor` first.");
        var map = await seals.HeadsAsync(anchor, stop).ConfigureAwait(false);
        var own = await StreamAsync(request.Contract, map, anchor, stop).ConfigureAwait(false);
        if (own.Events.IsEmpty) { throw new StoreException($"No event of {request.Contract} is under the newest anchor."); }
        var streams = ImmutableArray.CreateBuilder<StreamPart>();
        streams.Add(own);
        foreach (var name in DossierParts.ReferenceStreams(own.Events)) { streams.Add(await StreamAsync(name, map, anchor, stop).ConfigureAwait(false)); }
        var proof = await seals.InclusionAsync(anchor.Index, head.Size, stop).ConfigureAwait(false);
        var keys = await seals.KeysAsync(stop).ConfigureAwait(false);
        var parts = new DossierParts(
            request with { Known = Instant.Min(request.Known, anchor.Entry.At) }, streams.ToImmutable(), Encoding.UTF8.GetBytes(head.Note), anchor.EntryBytes,
            new TlogProof(anchor.Index, proof.Path, head.Note).ToBytes(), DossierParts.PolicyOf(keys));
        var bytes = DossierZip.Write(DossierFiles.Of(parts));
        // What is handed out has been through the stranger's own check.
        return DossierVerifier.Verify(bytes) is { Standing: DossierStanding.Holds }
            ? bytes
            : throw new StoreException($"What is stored is not what was sealed ({DossierVerifier.Verify(bytes).Fault}). Run `contracts check`.");
    }

    private async Task<StreamPart> StreamAsync(string stream, HeadMap map, SealedAnchor anchor, CancellationToken stop)
    {
        var events = await seals.EventsAsync(stream, anchor.Entry.Size, stop).ConfigureAwait(false);
        return new StreamPart(
            stream, [.. events.Select(one => new DossierEvent(one.EntryBytes, one.Payload, one.Headers))], HeadProofText.Write(map.Prove(DossierParts.Tenant, stream)));
    }
}
