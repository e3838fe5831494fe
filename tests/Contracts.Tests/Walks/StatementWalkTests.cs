using System.Globalization;
using Contracts.Disclosures;
using Contracts.Explain;
using Contracts.Tests.Support;
using CsCheck;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Walks;

/// <summary>Statements of generated lives over random spans: the balance before and the movements make the balance after, as each end finds it by itself.</summary>
public sealed class StatementWalkTests
{
    private static readonly long Lives =
        long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "1000", CultureInfo.InvariantCulture);

    [Fact]
    public void The_balance_before_and_the_movements_make_the_balance_after() => Gen.Int[0, int.MaxValue].Sample(seed =>
    {
        var life = Life.Generate(seed);
        for (var span = 0; span < 3; span++)
        {
            var (through, known) = life.Question();
            var from = life.Question().On;
            if (from > through) { (from, through) = (through, from); }
            var last = life.Shop.Account(life.Contract, through, known);
            var statement = AccountStatement.Of(life.Shop.History(life.Contract).AsKnownAt(known), life.Shop.RatesAt(known), from, through);
            if (last is null)
            {
                Assert.Null(statement);
                continue;
            }

            Hold(life.Shop.Account(life.Contract, from.PlusDays(-1), known), statement!.Opening, seed);
            Hold(last, statement.Closing, seed);
            var balance = statement.Opening.Balance;
            foreach (var movement in statement.Movements)
            {
                balance += movement.Amount;
                Assert.True(movement.Balance == balance && movement.On >= from && movement.On <= through && movement.Amount != Money.Zero, $"seed {seed}: {movement}");
            }

            Assert.True(balance == statement.Closing.Balance, $"seed {seed}, {from} through {through} as known {known}: {balance}, not {statement.Closing.Balance}");
            Assert.Equal(balance - statement.Opening.Balance, Enum.GetValues<MovementKind>().Aggregate(Money.Zero, (sum, kind) => sum + statement.Sum(kind)));
        }
    }, iter: Lives);

    private static void Hold(Account? account, StatementFigures figures, int seed)
    {
        var (due, waits, goodwill) = account is null ? (Money.Zero, Money.Zero, Money.Zero) : (account.PastDue, account.UnappliedCredit, account.GoodwillCredit);
        Assert.True(figures.PastDue == due && figures.Balance == due - waits - goodwill, $"seed {seed}: {figures}");
    }
}
