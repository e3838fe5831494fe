using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Tests.Reference;
using NodaTime;

namespace Contracts.Tests.Support;

/// <summary>One contract of a year: its accepted lines with the tax lines, as the second fold wants them.</summary>
/// <param name="Contract">Which contract.</param>
/// <param name="Commands">The lines in the order of recording.</param>
public sealed record YearContract(string Contract, List<AcceptedCommand> Commands);

/// <summary>
/// An invented school year of many families, from 1 August to 31 July: sign-ups around September, payments in time, late, in parts and sent back by the bank,
/// swaps, exchanges, returns, purchases, losses, holds, disputes, a fleet that goes out again, and facts that were recorded after their day. The same seed gives the same year.
/// </summary>
public sealed class FamilyYear
{
    /// <summary>The first day on which anything is recorded.</summary>
    public static readonly LocalDate First = new(2026, 8, 1);

    /// <summary>The last.</summary>
    public static readonly LocalDate Last = new(2027, 7, 31);

    private const int FamiliesOfAStreet = 10;

    private FamilyYear(IReadOnlyList<SchoolStreet> streets)
    {
        Contracts = [.. streets.SelectMany(street => street.OfEach()).OrderBy(one => one.Contract, StringComparer.Ordinal)];
        // Every street knows the same taxes; the store is told of them once.
        Lines = [.. streets
            .SelectMany((street, index) => street.Shop.Accepted.Where(line => index == 0 || (string)line.Command["do"]! != "set-tax").Select(line => (Line: line, index)))
            .OrderBy(pair => pair.Line.At).ThenBy(pair => pair.index).ThenBy(pair => pair.Line.Sequence)
            .Select(pair => (pair.Line.At, pair.Line.Command.ToJsonString()))];
        foreach (var (code, times) in streets.SelectMany(street => street.Refusals)) { Refusals[code] = Refusals.GetValueOrDefault(code) + times; }
        foreach (var (_, line) in Lines)
        {
            var name = (string)JsonNode.Parse(line)!["do"]!;
            Counts[name] = Counts.GetValueOrDefault(name) + 1;
        }
    }

    /// <summary>Every accepted line with its moment, in the order of recording.</summary>
    public IReadOnlyList<(Instant At, string Line)> Lines { get; }

    /// <summary>Every contract, in the order of ids.</summary>
    public IReadOnlyList<YearContract> Contracts { get; }

    /// <summary>How many lines there are of each command.</summary>
    public SortedDictionary<string, int> Counts { get; } = new(StringComparer.Ordinal);

    /// <summary>What families asked for and did not get, so that it is no line.</summary>
    public SortedDictionary<RefusalCode, int> Refusals { get; } = [];

    /// <summary>Lives a year.</summary>
    /// <param name="families">How many families; some have two or three contracts.</param>
    /// <param name="seed">Another seed, another year.</param>
    public static FamilyYear Of(int families, int seed = 1)
    {
        var streets = new SchoolStreet[(families + FamiliesOfAStreet - 1) / FamiliesOfAStreet];
        Parallel.For(0, streets.Length, index =>
        {
            streets[index] = new SchoolStreet(index + 1, seed);
            streets[index].Live(Math.Min(FamiliesOfAStreet, families - index * FamiliesOfAStreet));
        });
        return new FamilyYear(streets);
    }

    /// <summary>Random questions: a day, and a moment from before the first signing to after the last fact.</summary>
    /// <param name="count">How many.</param>
    /// <param name="seed">Another seed, other questions.</param>
    public static IEnumerable<(LocalDate On, Instant Known)> Questions(int count, int seed = 481)
    {
        var random = new Random(seed);
        for (var question = 0; question < count; question++)
        {
            var on = First.PlusDays(random.Next(10, 420));
            yield return (on, question % 5 == 0
                ? Instant.FromUtc(2031, 1, 1, 0, 0)
                : First.AtMidnight().InUtc().ToInstant() + Duration.FromDays(random.Next(20, 370)) + Duration.FromMinutes(random.Next(24 * 60)));
        }
    }
}
