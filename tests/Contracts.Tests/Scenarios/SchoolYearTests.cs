using Contracts.Agreements;
using Contracts.Tests.House;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Scenarios;

/// <summary>The invented school year that the demo loads.</summary>
public sealed class SchoolYearTests
{
    [Fact]
    public void The_invented_school_year_is_accepted_line_by_line_and_has_every_command()
    {
        var shop = new InMemoryShop();
        foreach (var line in File.ReadLines(Path.Combine(Repository.Root, "fixtures/demo/school-year.jsonl")))
        {
            var refusal = shop.Apply(line);
            Assert.True(refusal is null, $"{refusal?.Slug}: {refusal?.Detail} {line}");
        }

        var commands = shop.Accepted.Select(line => (string)line.Command["do"]!).ToHashSet();
        Assert.Equal(typeof(ContractCommand).GetNestedTypes().Length + 2, commands.Count);
        Assert.InRange(shop.Contracts.Count(), 38, 60);
        var before = shop.Account("C-1042", new LocalDate(2026, 12, 7), Instant.FromUtc(2026, 12, 8, 12, 0))!;
        var after = shop.Account("C-1042", new LocalDate(2026, 12, 7))!;
        // Three payments of 31.50 rent, and a fourth that was keyed on 9 December.
        Assert.Equal((new Money(9450), new Money(12600)), (before.Equity, after.Equity));
        Assert.Equal("owned", shop.Account("C-1042", new LocalDate(2027, 5, 20))!.Status);
    }
}
