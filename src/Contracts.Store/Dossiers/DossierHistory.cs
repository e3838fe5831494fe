using Contracts.History;
using Contracts.Replays;
using NodaTime;

namespace Contracts.Store.Dossiers;

/// <summary>
/// What a dossier has to replay: its contract and all that the contract's figures rest on. Whether the dossier is genuine is
/// <see cref="DossierVerifier"/>'s to say.
/// </summary>
/// <param name="History">The contract with everything the dossier holds.</param>
/// <param name="Reference">Rates and law packs as they became known.</param>
/// <param name="On">The day it was asked for.</param>
/// <param name="Known">The moment up to which it was asked for.</param>
public sealed record DossierHistory(ContractHistory History, KnownReference Reference, LocalDate On, Instant Known)
{
    /// <summary>Reads a dossier's bytes.</summary>
    /// <exception cref="StoreException">It is no dossier, or it cannot be read.</exception>
    public static DossierHistory Read(byte[] bytes)
    {
        var (files, fault) = DossierZip.Read(bytes);
        if (files is null) { throw new StoreException($"No dossier: {fault!.Detail}"); }
        var (parts, unread) = DossierParser.Parse(files);
        if (parts is null) { throw new StoreException($"The dossier cannot be read: {unread!.Detail}"); }
        return new DossierHistory(
            DossierReplay.Of(parts).All, DossierReplay.Reference(parts, Instant.MaxValue), parts.Request.On, parts.Request.Known);
    }
}
