using System.Text;
using Contracts.Law;
using Contracts.Replays;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Store;

/// <summary>A shop takes over a law pack. Stored for ever with the whole file: contracts keep the pack they were signed under.</summary>
/// <param name="Jurisdiction">Whose law it is.</param>
/// <param name="Version">The pack's version.</param>
/// <param name="Digest">SHA-256 of the file's bytes.</param>
/// <param name="CounselNote">What counsel said of it; left out where nothing was recorded.</param>
/// <param name="Pack">The file as it came.</param>
public sealed record LawPackAdopted(string Jurisdiction, int Version, string Digest, string? CounselNote, string Pack)
{
    private const string Prefix = "law:";

    /// <summary>No contract id has a colon, so the streams of one family never meet the other's.</summary>
    public static string StreamOf(string jurisdiction) => Prefix + jurisdiction;

    /// <summary>The reference data with this pack, which must be the one recorded last.</summary>
    /// <param name="rates">What was known before.</param>
    /// <param name="by">Who adopted it.</param>
    public ReferenceData AddTo(ReferenceData rates, string by) => rates.With(Adopted(by));

    /// <summary>The same with its place in the order of recording.</summary>
    internal ReferenceFact Fact(long sequence, Instant at, string by) => new ReferenceFact.Law(sequence, at, Adopted(by), Pack);

    private AdoptedPack Adopted(string by)
    {
        var (pack, faults) = LawPackReader.ReadStored(Encoding.UTF8.GetBytes(Pack), Jurisdiction);
        return pack is null || pack.Digest != Digest
            ? throw new StoreException($"The law pack {Jurisdiction}.{Version} was adopted and cannot be read any more: {(pack is null ? faults[0].Detail : "its digest differs")}")
            : new AdoptedPack(pack, by, CounselNote ?? "");
    }
}
