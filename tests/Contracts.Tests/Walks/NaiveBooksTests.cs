using System.Globalization;
using Contracts.Books;
using Contracts.History;
using Contracts.Tests.Reference;
using Contracts.Tests.Support;
using CsCheck;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Walks;

/// <summary>The postings against balances worked out a second time, from the posting rules in words and the commands alone.</summary>
public sealed class NaiveBooksTests
{
    private static readonly long Lives =
        long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "2000", CultureInfo.InvariantCulture);

    [Fact]
    public void The_postings_of_every_view_come_to_the_balances_of_a_second_reading() =>
        Gen.Int[0, int.MaxValue].Sample(seed =>
        {
            var life = Life.Generate(seed);
            for (var question = 0; question < 4; question++)
            {
                var (on, known) = life.Question();
                var history = life.Shop.History(life.Contract).AsKnownAt(known);
                var lines = Postings.Lines(history, life.Shop.RatesAt(known), LocalDate.MinIsoValue, on);
                Same(life, seed, on, known, lines);
            }
        }, iter: Math.Max(1, Lives / 4));

    [Fact]
    public void What_each_command_added_comes_to_the_balances_of_a_second_reading() =>
        Gen.Int[0, int.MaxValue].Sample(seed =>
        {
            var life = Life.Generate(seed);
            var (commands, added) = (life.Shop.Accepted, new List<BookLine>());
            var known = new HashSet<Instant>(commands.Where((_, index) => index % 9 == seed % 9).Select(command => command.At)) { commands[^1].At };
            var before = (History: ContractHistory.Unsigned(life.Contract), Rates: Contracts.Terms.ReferenceData.None);
            foreach (var at in commands.Select(command => command.At).Distinct())
            {
                var rates = life.Shop.RatesAt(at);
                // Other rates first change the lines that are there; then the commands add theirs.
                if (!before.History.Entries.IsEmpty)
                {
                    added.AddRange(Postings.Difference(Postings.Lines(before.History, before.Rates), Postings.Lines(before.History, rates)));
                }

                foreach (var command in life.Shop.History(life.Contract).Entries.Where(entry => entry.At == at).GroupBy(entry => entry.Key))
                {
                    var after = command.Aggregate(before.History, (history, entry) => history.Evolve(entry));
                    added.AddRange(Postings.Added(before.History, after, rates));
                    before.History = after;
                }

                before.Rates = rates;
                if (!known.Contains(at) || before.History.Entries.IsEmpty) { continue; }
                var last = Postings.PostedThrough(before.History);
                foreach (var on in new[] { last, last.PlusDays(-11), last.PlusDays(-40) }) { Same(life, seed, on, at, added); }
            }
        }, iter: Math.Max(1, Lives / 10));

    private static void Same(Life life, int seed, LocalDate on, Instant known, IReadOnlyList<BookLine> lines)
    {
        var accepted = life.Shop.Accepted.Select(line => new AcceptedCommand(line.Command, line.At, line.Sequence)).ToList();
        var expected = NaiveBooks.Balances(accepted, life.Contract, on, known);
        var actual = lines.GroupBy(line => (line.Account, line.Authority))
            .ToDictionary(group => group.Key, group => group.Sum(line => line.Through(on).Cents) / 100m);
        foreach (var key in expected.Keys.Union(actual.Keys).Order())
        {
            var (theirs, ours) = (expected.GetValueOrDefault(key), actual.GetValueOrDefault(key));
            Assert.True(theirs == ours, $"seed {seed}, on {on:uuuu-MM-dd}, known {known}: {key.Account} {key.Authority}: reference {theirs}, engine {ours}\n"
                + string.Join('\n', life.Shop.Accepted.Where(line => line.At <= known).Select(line => line.Command.ToJsonString())));
        }
    }
}
