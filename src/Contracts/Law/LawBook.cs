using System.Collections.Concurrent;
using System.Collections.Immutable;
using System.Reflection;
using NodaTime;

namespace Contracts.Law;

/// <summary>
/// The packs that are known: those that come with the program, and those a shop has adopted. A contract keeps the pack it
/// was signed under, so no version is ever taken out.
/// </summary>
public sealed class LawBook
{
    private const string Folder = "law.";
    private const string EarlierFolder = "law-earlier.";

    private static readonly ConcurrentDictionary<string, LawPack?> Read = new(StringComparer.Ordinal);

    /// <summary>The packs of the program by what events call them, and those that stand for contracts that name none.</summary>
    private static readonly ConcurrentDictionary<string, LawPack?> Named = new(StringComparer.Ordinal);
    private static readonly ConcurrentDictionary<string, LawPack?> Unnamed = new(StringComparer.Ordinal);

    private readonly ImmutableDictionary<string, ImmutableList<AdoptedPack>> adopted;
    private readonly ImmutableDictionary<string, LawPack> byReference;

    /// <summary>The packs that a question puts in the place of all others of their jurisdictions; none in every answer about what is.</summary>
    private ImmutableDictionary<string, LawPack> instead = ImmutableDictionary.Create<string, LawPack>(StringComparer.Ordinal);

    private LawBook(ImmutableDictionary<string, ImmutableList<AdoptedPack>> adopted, ImmutableDictionary<string, LawPack> byReference) =>
        (this.adopted, this.byReference) = (adopted, byReference);

    /// <summary>The packs that come with the program, and no other.</summary>
    public static LawBook AsSupplied { get; } = new(
        ImmutableDictionary.Create<string, ImmutableList<AdoptedPack>>(StringComparer.Ordinal), ImmutableDictionary.Create<string, LawPack>(StringComparer.Ordinal));

    /// <summary>Every jurisdiction that a supplied pack is for, in order.</summary>
    public static ImmutableArray<string> Jurisdictions { get; } =
    [
        .. Assembly.GetExecutingAssembly().GetManifestResourceNames()
            .Where(name => name.StartsWith(Folder, StringComparison.Ordinal))
            .Select(name => name[Folder.Length..^".json".Length]).Order(StringComparer.Ordinal),
    ];

    /// <summary>The book with one more adopted pack.</summary>
    public LawBook With(AdoptedPack pack) =>
        new(
            adopted.SetItem(pack.Pack.Jurisdiction, (adopted.GetValueOrDefault(pack.Pack.Jurisdiction) ?? []).Add(pack)),
            // Of two of one name the first counts, as it always did; the store takes no second one.
            byReference.ContainsKey(pack.Pack.Reference) ? byReference : byReference.Add(pack.Pack.Reference, pack.Pack)) { instead = instead };

    /// <summary>The book as if a pack stood in the place of every pack of its jurisdiction.</summary>
    public LawBook InsteadOf(LawPack pack) => new(adopted, byReference) { instead = instead.SetItem(pack.Jurisdiction, pack) };

    /// <summary>The pack that a question put in the place of those of a jurisdiction, or null.</summary>
    internal LawPack? Instead(string jurisdiction) => instead.IsEmpty ? null : instead.GetValueOrDefault(jurisdiction);

    /// <summary>The packs a shop has adopted for a jurisdiction, in the order of adoption.</summary>
    public IReadOnlyList<AdoptedPack> Adopted(string jurisdiction) => adopted.GetValueOrDefault(jurisdiction) ?? [];

    /// <summary>The pack for agreements of a day: the last one adopted that is for such days, else the supplied one; null where neither is.</summary>
    public LawPack? For(string jurisdiction, LocalDate day)
    {
        var packs = Adopted(jurisdiction);
        for (var index = packs.Count - 1; index >= 0; index--)
        {
            if (packs[index].Pack.From is not { } from || from <= day) { return packs[index].Pack; }
        }

        return SuppliedFor(jurisdiction) is { } supplied && (supplied.From is not { } since || since <= day) ? supplied : null;
    }

    /// <summary>The last version that is known for a jurisdiction; 0 where none is.</summary>
    public int LastVersion(string jurisdiction)
    {
        var last = SuppliedFor(jurisdiction)?.Version ?? 0;
        foreach (var pack in Adopted(jurisdiction)) { last = Math.Max(last, pack.Pack.Version); }
        return last;
    }

    /// <summary>What counsel has said of signing in a jurisdiction, where something was recorded.</summary>
    public string? CounselNote(string jurisdiction)
    {
        foreach (var pack in Adopted(jurisdiction).Reverse())
        {
            if (!string.IsNullOrWhiteSpace(pack.CounselNote)) { return pack.CounselNote; }
        }

        return null;
    }

    /// <summary>The pack an event names, such as <c>HI.1</c>; null where no such version is known. Asked in every fold, so it builds no text.</summary>
    public LawPack? Find(string reference)
    {
        if (byReference.TryGetValue(reference, out var pack)) { return pack; }
        return Named.GetOrAdd(reference, OfTheProgram);
    }

    private static LawPack? OfTheProgram(string reference)
    {
        var dot = reference.LastIndexOf('.');
        if (dot < 0) { return null; }
        return SuppliedFor(reference[..dot]) is { } supplied && supplied.Reference == reference ? supplied : Embedded(EarlierFolder, reference);
    }

    /// <summary>The pack that comes with the program, or null.</summary>
    public static LawPack? SuppliedFor(string jurisdiction) => Embedded(Folder, jurisdiction);

    /// <summary>What a contract is under that was signed before packs were recorded, or null where the program then had no rule.</summary>
    public static LawPack? BeforePacks(string jurisdiction) => Unnamed.GetOrAdd(jurisdiction, static code => Embedded(EarlierFolder, $"{code}.0"));

    private static LawPack? Embedded(string folder, string file)
    {
        var name = $"{folder}{file}.json";
        if (Read.TryGetValue(name, out var pack)) { return pack; }
        using var stream = Assembly.GetExecutingAssembly().GetManifestResourceStream(name);
        if (stream is not null)
        {
            var bytes = new byte[stream.Length];
            stream.ReadExactly(bytes);
            var (read, faults) = LawPackReader.Read(bytes, name, earlier: folder == EarlierFolder, stored: folder == EarlierFolder);
            pack = read ?? throw new InvalidOperationException($"The program's own pack is damaged: {faults[0]}");
        }

        return Read.GetOrAdd(name, pack);
    }
}

/// <summary>A pack a shop has adopted.</summary>
/// <param name="Pack">The pack.</param>
/// <param name="By">Who adopted it.</param>
/// <param name="CounselNote">What counsel said, or empty.</param>
public sealed record AdoptedPack(LawPack Pack, string By, string CounselNote);
