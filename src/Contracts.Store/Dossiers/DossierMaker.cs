using System.Collections.Immutable;
using System.Text;
using Contracts.Seals;
using Contracts.Store.Papers;
using Contracts.Store.Seals;
using NodaTime;

namespace Contracts.Store.Dossiers;

/// <summary>What goes into a dossier beside what every dossier has.</summary>
/// <param name="Since">A signed head of the log that the reader keeps: the dossier shows that its log continues it. Null where there is none.</param>
/// <param name="KnownSize">The checkpoint that the moment asked for stands for, or null where a moment was given.</param>
/// <param name="Disclosures">The facts about the family that this reader may see.</param>
public sealed record DossierExtras(byte[]? Since, long? KnownSize, ImmutableArray<SaltedDisclosure> Disclosures)
{
    /// <summary>Nothing beside.</summary>
    public static DossierExtras None { get; } = new(null, null, []);
}

/// <summary>Gathers a dossier from a sealed store.</summary>
public sealed class DossierMaker
{
    private readonly SealReader seals;
    private readonly StampBook stamps;
    private readonly PaperArchive papers;

    internal DossierMaker(SealReader seals, StampBook stamps, PaperArchive papers) => (this.seals, this.stamps, this.papers) = (seals, stamps, papers);

    /// <summary>
    /// The dossier's bytes; everything recorded through the newest anchor under a signed head is in it. Seal with an anchor first to
    /// have what was recorded last.
    /// </summary>
    /// <exception cref="StoreException">Nothing is signed yet, the contract is not sealed, or what is stored is not what was sealed.</exception>
    /// <exception cref="SignerException">The dossier cannot be signed.</exception>
    public async Task<byte[]> MakeAsync(DossierRequest request, ISigner signer, DossierExtras? extras = null, CancellationToken stop = default)
    {
        var head = await seals.LatestAsync(stop).ConfigureAwait(false) ?? throw new StoreException("Nothing is sealed and signed yet: run `contracts seal` first.");
        var anchor = await seals.AnchorAsync(head.Size, stop).ConfigureAwait(false) ?? throw new StoreException("The log has no anchor yet: run `contracts seal --anchor` first.");
        var map = await seals.HeadsAsync(anchor, stop).ConfigureAwait(false);
        var own = await StreamAsync(request.Contract, map, anchor, stop).ConfigureAwait(false);
        if (own.Events.IsEmpty) { throw new StoreException($"No event of {request.Contract} is under the newest anchor."); }
        extras ??= DossierExtras.None;
        if (extras.KnownSize is { } size) { await RequireSameAsync(request, size, anchor, stop).ConfigureAwait(false); }
        var streams = ImmutableArray.CreateBuilder<StreamPart>();
        streams.Add(own);
        foreach (var name in DossierParts.ReferenceStreams(own.Events)) { streams.Add(await StreamAsync(name, map, anchor, stop).ConfigureAwait(false)); }
        var proof = await seals.InclusionAsync(anchor.Index, head.Size, stop).ConfigureAwait(false);
        var keys = await seals.KeysAsync(stop).ConfigureAwait(false);
        var parts = new DossierParts(
            request with { Known = Instant.Min(request.Known, anchor.Entry.At) }, streams.ToImmutable(), Encoding.UTF8.GetBytes(head.Note), anchor.EntryBytes,
            new TlogProof(anchor.Index, proof.Path, head.Note).ToBytes(), DossierParts.PolicyOf(keys))
        {
            Papers = await PapersAsync(own, stop).ConfigureAwait(false),
            Disclosures = [.. extras.Disclosures.Select(fact => fact.Text)],
        };
        parts = await new DossierHeads(seals, stamps, head).AddAsync(parts, extras, stop).ConfigureAwait(false);
        var files = DossierFiles.Of(parts);
        var origin = await seals.OriginAsync(stop).ConfigureAwait(false);
        files[DossierStatement.Name] = Encoding.UTF8.GetBytes(
            await signer.SignStatementAsync(origin, DossierStatement.Text(origin, Digest.Of(files[DossierStatement.TagManifest])), stop).ConfigureAwait(false));
        var bytes = DossierZip.Write(files);
        // What is handed out has been through the stranger's own check.
        var verdict = DossierVerifier.Verify(bytes, earlier: extras.Since);
        return verdict.Standing == DossierStanding.Holds
            ? bytes
            : throw new StoreException($"What is stored is not what was sealed ({verdict.Fault}). Run `contracts check`.");
    }

    /// <summary>
    /// A moment and the checkpoint it stands for know the same of this contract, but for an event that was sealed late; then the
    /// checkpoint cannot be told as a moment, and nothing is guessed.
    /// </summary>
    private async Task RequireSameAsync(DossierRequest request, long size, SealedAnchor anchor, CancellationToken stop)
    {
        var events = await seals.EventsAsync(request.Contract, anchor.Entry.Size, stop).ConfigureAwait(false);
        if (events.Any(one => one.Index < size != one.Entry.RecordedAt <= request.Known))
        {
            throw new StoreException(
                $"An event of {request.Contract} was sealed late, so that the checkpoint of {size} leaves is not what was known at one moment. Ask by a moment.");
        }
    }

    private async Task<ImmutableArray<PaperPart>> PapersAsync(StreamPart contract, CancellationToken stop)
    {
        var made = ImmutableArray.CreateBuilder<PaperPart>();
        if (!papers.CanMake) { return made.ToImmutable(); }
        foreach (var (version, issued) in DossierSidesCheck.Issued(contract))
        {
            var id = DossierReplay.KeyOf(contract.Events[version - 1]);
            if (await papers.MakeAgainAsync(id, stop).ConfigureAwait(false) is { Printed.Bytes: { } bytes } && DossierFiles.Hex(bytes) == issued.Digest)
            {
                made.Add(new PaperPart(version, bytes));
            }
        }

        return made.ToImmutable();
    }

    private async Task<StreamPart> StreamAsync(string stream, HeadMap map, SealedAnchor anchor, CancellationToken stop)
    {
        var events = await seals.EventsAsync(stream, anchor.Entry.Size, stop).ConfigureAwait(false);
        return new StreamPart(
            stream, [.. events.Select(one => new DossierEvent(one.EntryBytes, one.Payload, one.Headers))], HeadProofText.Write(map.Prove(DossierParts.Tenant, stream)));
    }
}
