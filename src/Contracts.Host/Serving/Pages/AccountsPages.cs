using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.Api;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Serving.Pages;

/// <summary>One value that accounts of the list have, how many have it, and the query that asks for these alone.</summary>
public sealed record Facet(string Value, int Count, string Query);

/// <summary>One condition that is asked for, and the query without it.</summary>
public sealed record Asked(string Name, string Value, string Without);

/// <summary>The accounts that are asked for, by what they can be asked further, and as a program asks for them.</summary>
public sealed record AccountsModel(
    LocalDate On, string Known, Instant KnownAt, bool IsNow, IReadOnlyList<Account> First, int Count, IReadOnlyList<(string Name, IReadOnlyList<Facet> Facets)> Facets,
    IReadOnlyList<Asked> Conditions, string Program, string Terminal);

/// <summary>All accounts of a view, by what they have in common.</summary>
internal static class AccountsPages
{
    private const int Most = 100;

    public static void Map(IEndpointRouteBuilder routes) => routes.MapPage("/accounts", AccountsAsync).WithRequestTimeout(ApiHost.Many);

    private static async Task<IResult> AccountsAsync(HttpContext context, ContractsStore store, string? on, string? known, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        var asked = AccountMarks.Names.SelectMany(name => context.Request.Query[name].Select(value => (name, value)));
        var (filter, unfit) = AccountFilter.Read(asked);
        if (filter is null) { return PageHost.Refused(context, unfit!); }
        // What came later is told of every past view, and of a checkpoint of none.
        var (sieve, why) = await AccountSieve.ForAsync(
            store, filter, question.On, question.Known, stop, looksLater: !string.IsNullOrEmpty(known) && question.Known.Size is null);
        if (sieve is null) { return PageHost.Refused(context, why!); }
        var first = new List<Account>();
        var (count, counts) = (0, new Dictionary<(string Name, string Value), int>());
        await foreach (var seen in store.Reader.MapHistoriesAsync(sieve.Reads, sieve.WithMarks, stop))
        {
            if (seen is not { } one) { continue; }
            count++;
            if (first.Count < Most) { first.Add(one.Account); }
            foreach (var mark in one.Marks) { counts[mark] = counts.GetValueOrDefault(mark) + 1; }
        }

        var view = $"on={Say.Iso(question.On)}{(string.IsNullOrEmpty(known) ? "" : $"&known={Uri.EscapeDataString(known)}")}";
        return PageHost.Of<AccountsPage>(context, new AccountsModel(
            question.On, known ?? "", question.Known.At, string.IsNullOrEmpty(on) && string.IsNullOrEmpty(known), first, count, Facets(filter, counts, view),
            [.. filter.Conditions.Select(one => new Asked(one.Name, one.Value, view + new AccountFilter([.. filter.Conditions.Where(other => other != one)]).Query))],
            $"/v1/accounts?{view}{filter.Query}",
            $"accounts --on {Say.Iso(question.On)}{(string.IsNullOrEmpty(known) ? "" : $" --known {known}")}{filter.Words}"));
    }

    private static IReadOnlyList<(string, IReadOnlyList<Facet>)> Facets(AccountFilter filter, Dictionary<(string Name, string Value), int> counts, string view) =>
    [
        .. AccountMarks.Names.Select(name => (name, (IReadOnlyList<Facet>)
        [
            .. counts.Where(pair => pair.Key.Name == name && !filter.Conditions.Contains(pair.Key))
                .OrderBy(pair => Rank(pair.Key)).ThenBy(pair => pair.Key.Value, StringComparer.Ordinal)
                .Select(pair => new Facet(pair.Key.Value, pair.Value, view + new AccountFilter([.. filter.Conditions, pair.Key]).Query)),
        ])).Where(one => one.Item2.Count > 0),
    ];

    private static int Rank((string Name, string Value) mark) => mark.Name == AccountMarks.Met ? AccountMarks.Meetings.Index().First(one => one.Item == mark.Value).Index : 0;
}
