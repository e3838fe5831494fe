using Contracts.History;
using Contracts.Host.Serving.Pages;
using Contracts.Host.Serving.SignIn;
using Contracts.Tests.Support;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Host.Tests.Serving.Pages;

/// <summary>What an account's page offers to do, sorted by what it is about.</summary>
public sealed class DeedGroupTests
{
    [Fact]
    public void Every_deed_is_about_one_thing() =>
        Assert.Equal(Deeds.All.Select(deed => deed.Name).Order(StringComparer.Ordinal), DeedGroups.All.SelectMany(group => group.Names).Order(StringComparer.Ordinal));

    [Theory]
    [InlineData("2026-09-05 sign", "2026-09-05", "hold exchange elect-plan return", "release reinstate deliver cancel-plan close-dispute")]
    [InlineData("2026-09-05 sign elected=yes", "2026-09-05", "cancel-plan", "elect-plan")]
    [InlineData("2026-09-05 sign\n2026-09-06 hold reason=r", "2026-09-06", "release", "hold exchange")]
    [InlineData("2026-09-05 sign\n2026-09-06 return", "2026-09-06", "reinstate pay refund receive-unit", "hold elect-plan release buy return swap report-damage report-loss step-up")]
    [InlineData("2026-09-05 sign\n2026-09-06 report-loss kind=lost", "2026-09-06", "return pay", "buy swap report-loss step-up")]
    [InlineData("2026-09-05 sign begins=delivery", "2026-09-05", "deliver", "hold exchange release")]
    [InlineData("2026-09-05 sign\n2026-09-06 open-dispute dispute=D-1 claim=other says=x", "2026-09-06", "close-dispute", "release")]
    public void What_could_only_be_refused_is_not_offered(string life, string day, string offered, string left)
    {
        var shop = Script.Given(life).Shop;
        var account = AccountFold.At(shop.History("C-1"), shop.RatesAt(Instant.MaxValue), LocalDatePattern.Iso.Parse(day).Value)!;
        var names = DeedGroups.For(Roles.Manager, account).SelectMany(group => group.Deeds).Select(deed => deed.Name).ToList();
        Assert.Empty(offered.Split(' ').Except(names, StringComparer.Ordinal));
        Assert.Empty(left.Split(' ').Intersect(names, StringComparer.Ordinal));
    }
}
