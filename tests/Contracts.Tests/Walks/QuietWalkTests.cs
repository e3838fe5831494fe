using Contracts.Calendars;
using Contracts.DayWork;
using Contracts.History;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Walks;

/// <summary>On generated lives: no day asks for anything through the one until which an account was called quiet.</summary>
public sealed class QuietWalkTests
{
    [Fact]
    public void A_quiet_account_asks_for_nothing_through_its_day()
    {
        var (plan, quiet) = (new DayPlan(), 0);
        for (var seed = 1; seed <= 40; seed++)
        {
            var life = Life.Generate(seed, steps: 25);
            var (history, rates, random) = (life.Shop.History(life.Contract), life.Shop.RatesAt(Instant.MaxValue), new Random(seed));
            for (var question = 0; question < 12 && history.IsSigned; question++)
            {
                // As a run through the days meets it: what was recorded by then, and mostly nothing dated ahead.
                var known = history.Entries[random.Next(history.Entries.Length)].At;
                var seen = history.AsKnownAt(known);
                var day = known.InZone(InMemoryShop.Zone).Date.PlusDays(random.Next(0, 40));
                if (AccountFold.At(seen, rates, day) is not { } account || !plan.Of(account, day.PlusDays(-1), BusinessCalendar.Federal).IsEmpty) { continue; }
                var through = plan.QuietThrough(account);
                Assert.True(through >= day);
                for (var next = day.PlusDays(1); next <= through; next = next.PlusDays(1))
                {
                    quiet++;
                    Assert.True(plan.Of(AccountFold.At(seen, rates, next)!, next.PlusDays(-1), BusinessCalendar.Federal).IsEmpty, $"seed {seed}, {day} quiet through {through}, and not on {next}");
                }
            }
        }

        Assert.True(quiet > 1000, $"{quiet} quiet days");
    }
}
