using System.Collections.Immutable;
using System.Security.Cryptography.X509Certificates;
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
    /// <param name="roots">The roots of time stamping authorities to believe; null where the reader has none.</param>
    public static DossierVerdict Verify(byte[] bytes, byte[]? policy = null, byte[]? earlier = null, X509Certificate2Collection? roots = null)
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

        if (earlier is not null && Earlier(parts, keys, earlier, head.Checkpoint) is { } older) { return older; }
        if (DossierLogCheck.Run(parts, head.Checkpoint) is { } broken) { return Bad(broken); }
        if (DossierSidesCheck.Run(parts, keys, head.Checkpoint, roots) is { } side) { return Bad(side); }
        var figures = Figures(parts, files, policy is not null, head.Checkpoint, roots);
        // Last, so that what is wrong inside is told rather than that the packing was signed otherwise.
        return figures.Standing == DossierStanding.Holds && DossierStatement.Check(files, keys, head.Checkpoint.Origin) is { } packing
            ? packing.Code == "key-unknown" ? Unsure(packing) : Bad(packing)
            : figures;
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

    private static DossierVerdict? Earlier(DossierParts parts, TlogPolicy keys, byte[] earlier, Checkpoint head)
    {
        if (!keys.Open(earlier).TryGet(out var kept, out var fault)) { return Unsure(new DossierFault("key-unknown", $"The earlier head: {fault.Detail}")); }
        if (kept.Checkpoint.Size > head.Size || (kept.Checkpoint.Size == head.Size && kept.Checkpoint != head))
        {
            return Bad(new DossierFault(
                "log-forked", $"The head you kept has {kept.Checkpoint.Size} leaves, the dossier's has {head.Size} and is not the same log."));
        }

        if (kept.Checkpoint == head) { return null; }

        // What the dossier's own earlier heads say is checked with it; here it only matters that yours is among them.
        foreach (var one in parts.Earlier)
        {
            if (!keys.Open(one.Note).TryGet(out var known, out _) || known.Checkpoint.Size != kept.Checkpoint.Size) { continue; }
            return known.Checkpoint == kept.Checkpoint
                ? null
                : Bad(new DossierFault("log-forked", $"The head you kept and the dossier's earlier one both have {kept.Checkpoint.Size} leaves and are not the same log."));
        }

        return Unsure(new DossierFault(
            "consistency-missing",
            $"The dossier does not show that its log continues the {kept.Checkpoint.Size} leaves you kept. Ask for one with: contracts dossier ... --since FILE"));
    }

    private static DossierVerdict Figures(DossierParts parts, SortedDictionary<string, byte[]> files, bool keyIsReaders, Checkpoint head, X509Certificate2Collection? roots)
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

        if (files.Keys.FirstOrDefault(name => !made.ContainsKey(name) && name != DossierStatement.Name) is { } extra)
        {
            return Bad(new DossierFault("file-added", $"{extra} is not part of a dossier."));
        }

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
                $"So are the household, taxes and law packs that they name ({Others(parts)}).",
                .. DossierSidesCheck.Proved(parts, roots),
                "The figures, the page and every other file are what this program's rules make of those events.",
            ],
            [
                .. keyIsReaders
                    ? Array.Empty<string>()
                    : ["That the key is the shop's: it came with the dossier. Compare data/policy.txt with what was published, and give it by --policy."],
                .. DossierSidesCheck.NotProved(parts, roots),
                "That what was typed in is true; that nothing was recorded after the anchor; that no second log was signed; who asked for this, why and when.",
                "Rent-to-own rules vary by state; what the figures mean in law is for counsel to say.",
            ]);
    }

    private static string Others(DossierParts parts) => string.Join(", ", parts.Streams.Skip(1).Select(stream => $"{stream.Stream}: {stream.Events.Length}"));

    private static DossierVerdict Bad(DossierFault fault) => new(DossierStanding.Altered, fault, [], []);

    private static DossierVerdict Unsure(DossierFault fault) => new(DossierStanding.CannotTell, fault, [], []);
}
