using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using Contracts.Agreements;
using Contracts.Books;
using Xunit;

namespace Contracts.Tests.Books;

/// <summary>A shop's own chart: what is refused of it, and the names it gives in a journal.</summary>
public sealed partial class ChartTests
{
    public static TheoryData<string, string> Faults => new()
    {
        { "a role nobody posts to", "role=Petty" },
        { "a role by its number", "role=100" },
        { "a role given twice", "role=CashDrawer" },
        { "a number given twice", "number=1010" },
        { "a number with a colon", "number=10:00" },
        { "a number in small letters", "number=a1" },
        { "a name that is empty", "name=" },
        { "a type that is none", "type=equity" },
        { "a type by its number", "type=0" },
        { "a dollar account that is memo", "type=memo" },
        { "a role that is missing", "-" },
    };

    public static TheoryData<string, string> MemoFaults => new()
    {
        { "a memo account that is an asset", "type=asset" },
        { "a memo account that counts dollars", "commodity=USD" },
        { "a memo account that counts nothing", "commodity=" },
        { "a commodity in small letters", "commodity=credit" },
    };

    [Theory]
    [MemberData(nameof(Faults))]
    public void A_chart_with_a_fault_is_refused(string fault, string change) => Refused(fault, change, 0);

    [Theory]
    [MemberData(nameof(MemoFaults))]
    public void A_chart_that_mixes_memo_and_money_is_refused(string fault, string change) =>
        Refused(fault, change, Accounts().Count - 1);

    [Theory]
    [InlineData("[]")]
    [InlineData("{}")]
    [InlineData("{ \"accounts\": 1 }")]
    [InlineData("{ \"accounts\": [1] }")]
    [InlineData("{ \"accounts\": [")]
    public void What_is_no_chart_is_refused(string text)
    {
        var (chart, refusal) = Chart.Parse(text);
        Assert.Null(chart);
        Assert.Equal(RefusalCode.ChartInvalid, refusal!.Code);
    }

    [Fact]
    public void Every_account_has_a_name_that_ledger_programs_read_and_no_two_share_one()
    {
        var names = Enum.GetValues<BookAccount>().Select(account => Chart.Standard.NameOf(account, "")).ToList();
        Assert.All(names, Readable);
        Assert.Equal(names.Count, names.Distinct(StringComparer.Ordinal).Count());
    }

    [Fact]
    public void A_shops_own_titles_become_names_that_ledger_programs_read()
    {
        var accounts = Accounts();
        accounts[0]!["name"] = " (caisse) à côté; no:2";
        var (chart, _) = Chart.Parse(new JsonObject { ["accounts"] = accounts }.ToJsonString());
        Readable(chart!.NameOf(BookAccount.CashOperating, ""));
    }

    [Fact]
    public void No_two_authorities_share_a_name_and_every_name_can_be_read()
    {
        string[] authorities =
        [
            "2100", "2100-a", "2100 a", "a s", "a--s", "a  s", "a h", "a--h", "A--sh", "a-b--h", "a b--h", "a/b--h", "a--x2fx", "ax2fx",
            "a b", "a-b", "a/b", "A b", "A-B", "a  b", "a--b", "ax20b", "ax2db", "a-x20-b", "a.b", "ax2eb", "Aberry", "aberry", "Xaberry", "-a", "X-a", "x-a",
            " a", "x20a", "X20a", "é", "xe9", "Xe9", "XE9", "e\u0301", "\U0001F3B7", "\U0001F3B8", "x", "X", "1", "the state", "The state", "the-state", ":", ";", "-",
            "X", "x-", "-x", "a-", "a -", "a- ",
        ];
        var names = authorities.Distinct(StringComparer.Ordinal).ToDictionary(name => name, name => Chart.Standard.NameOf(BookAccount.SalesTaxPayable, name));
        Assert.All(names.Values, Readable);
        Assert.Empty(names.GroupBy(pair => pair.Value).Where(group => group.Count() > 1).Select(group => string.Join(" | ", group.Select(pair => pair.Key))));
    }

    [Fact]
    public void Common_names_of_authorities_stay_readable() => Assert.Equal(
        "Liabilities:2100-Sales-tax-payable:2100-Dunmarrow-County", Chart.Standard.NameOf(BookAccount.SalesTaxPayable, "Dunmarrow County"));

    private static void Readable(string name) => Assert.All(name.Split(':'), part => Assert.Matches(Component(), part));

    /// <summary>The narrowest of the three: a capital or a digit, then letters, digits and hyphens.</summary>
    [GeneratedRegex("^[A-Z0-9][A-Za-z0-9-]*$")]
    private static partial Regex Component();

    private static JsonArray Accounts() => (JsonArray)JsonNode.Parse(Chart.Standard.Text)!["accounts"]!.DeepClone();

    private static void Refused(string fault, string change, int index)
    {
        var accounts = Accounts();
        if (change == "-") { accounts.RemoveAt(index); }
        else
        {
            var pair = change.Split('=');
            accounts[index]![pair[0]] = pair[1];
        }

        var (chart, refusal) = Chart.Parse(new JsonObject { ["accounts"] = accounts }.ToJsonString());
        Assert.True(chart is null, $"Accepted: {fault}.");
        Assert.Equal((RefusalCode.ChartInvalid, "chart-invalid"), (refusal!.Code, refusal.Slug));
    }
}
