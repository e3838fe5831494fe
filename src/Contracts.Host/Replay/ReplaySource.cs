using System.CommandLine;
using System.Runtime.CompilerServices;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Host.Terminal;
using Contracts.Law;
using Contracts.Replays;
using Contracts.Store;
using Contracts.Store.Dossiers;
using NodaTime;

namespace Contracts.Host.Replay;

/// <summary>
/// Histories to live again: all of a store, or those of a dossier or a command file, for which no database is opened.
/// </summary>
internal sealed class ReplaySource
{
    private readonly ContractsStore? store;
    private readonly IReadOnlyCollection<ContractHistory> histories;

    private ReplaySource(ContractsStore? store, IReadOnlyCollection<ContractHistory> histories, KnownReference reference, Instant known, LocalDate today)
    {
        (this.store, this.histories) = (store, histories);
        (Reference, Known, Today) = (reference, known, today);
    }

    /// <summary>Rates and law packs as they became known.</summary>
    public KnownReference Reference { get; private init; }

    /// <summary>Up to which moment events count.</summary>
    public Instant Known { get; }

    /// <summary>The day on which every account is looked at last.</summary>
    public LocalDate Today { get; }

    /// <summary>The option that names a file in the place of a store.</summary>
    public static Option<FileInfo?> FileOption() => new("--file")
    {
        Description = "A dossier or a command file to take the histories from; no database is opened then. The store when left out.",
    };

    /// <summary>The option that puts a law pack in the place of those of its state.</summary>
    public static Option<FileInfo?> LawOption() => new("--law")
    {
        Description = "A law pack to live by as if it had been in force in its state from the first day, in the place of every other.",
    };

    /// <summary>All of a store, as known at a moment.</summary>
    public static async Task<ReplaySource> OfAsync(ContractsStore store, Instant known, LocalDate today, CancellationToken stop) =>
        new(store, [], await store.Reader.ReferenceAsync(known, stop).ConfigureAwait(false), known, today);

    /// <summary>What a file has.</summary>
    /// <exception cref="UsageException">There is no such file, or it is neither a dossier nor a command file that can be obeyed.</exception>
    public static async Task<ReplaySource> OfAsync(FileInfo file, Instant? known, LocalDate? today, CancellationToken stop)
    {
        if (!file.Exists) { throw new UsageException($"There is no file {file.Name}."); }
        var bytes = await File.ReadAllBytesAsync(file.FullName, stop).ConfigureAwait(false);
        if (bytes.AsSpan().StartsWith("PK"u8))
        {
            var dossier = DossierHistory.Read(bytes);
            var until = known ?? dossier.History.Entries[^1].At;
            return new ReplaySource(null, [dossier.History.AsKnownAt(until)], dossier.Reference, until, today ?? dossier.On);
        }

        // A line that these rules refuse is told, and its contract parts from results that have it.
        var shop = Obey(bytes, (number, refusal) => Console.Error.WriteLine($"contracts: {new RefusedLineException(file.Name, number, refusal).Message}"));
        var last = known ?? shop.Last;
        return new ReplaySource(
            null, [.. shop.Histories.Select(one => one.AsKnownAt(last)).Where(one => !one.Entries.IsEmpty)], shop.Reference, last, today ?? last.InZone(Session.Zone).Date);
    }

    /// <summary>Obeys a command file in memory, whole.</summary>
    /// <exception cref="RefusedLineException">A line is refused.</exception>
    public static MemoryShop Obey(byte[] lines, string name) => Obey(lines, (number, refusal) => throw new RefusedLineException(name, number, refusal));

    private static MemoryShop Obey(byte[] lines, Action<int, Refusal> refused)
    {
        var shop = new MemoryShop(Session.Zone);
        var number = 0;
        foreach (var range in lines.AsSpan().Split((byte)'\n'))
        {
            number++;
            var line = lines.AsMemory()[range].TrimEnd("\r"u8);
            if (line.Span.TrimStart(" \t"u8).IsEmpty) { continue; }
            if (shop.Apply(line) is { } refusal) { refused(number, refusal); }
        }

        return shop;
    }

    /// <summary>The same by another law.</summary>
    public async Task<ReplaySource> UnderAsync(FileInfo? law, CancellationToken stop)
    {
        if (law is null) { return this; }
        if (!law.Exists) { throw new UsageException($"There is no file {law.Name}."); }
        var (pack, faults) = LawPackReader.Read(await File.ReadAllBytesAsync(law.FullName, stop).ConfigureAwait(false), law.Name);
        return pack is null
            ? throw new UsageException($"{law.Name} is no law pack: {faults[0]}")
            : new ReplaySource(store, histories, Reference.InsteadOf(pack), Known, Today);
    }

    /// <summary>Work on each history, on two workers where a store is read; the results keep the order of the ids.</summary>
    public async IAsyncEnumerable<T> MapAsync<T>(Func<ContractHistory, T> map, [EnumeratorCancellation] CancellationToken stop)
    {
        if (store is not null)
        {
            await foreach (var result in store.Reader.MapHistoriesAsync(Known, map, stop).ConfigureAwait(false)) { yield return result; }
            yield break;
        }

        foreach (var history in histories) { yield return map(history); }
    }

    /// <summary>One contract, or null.</summary>
    public async Task<ContractHistory?> HistoryAsync(string contract, CancellationToken stop) => store is null
        ? histories.FirstOrDefault(one => one.Contract == contract)
        : await store.Reader.HistoryAsync(contract, Known, stop).ConfigureAwait(false);

    /// <summary>The one contract there is, or null where there are several.</summary>
    public string? Only => store is null && histories.Count == 1 ? histories.First().Contract : null;
}

/// <summary>A line of a command file was refused where the file was to be obeyed whole.</summary>
internal sealed class RefusedLineException(string file, int line, Refusal refusal) : Exception($"{file} line {line}: {refusal.Slug}: {refusal.Detail}")
{
    /// <summary>Why.</summary>
    public Refusal Refusal { get; } = refusal;
}
