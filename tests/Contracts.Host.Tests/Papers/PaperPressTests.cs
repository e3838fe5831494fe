using System.Text;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using AngleSharp.Dom;
using AngleSharp.Html.Parser;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Host.Papers;
using Contracts.Law;
using Contracts.Papers;
using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Host.Tests.Papers;

/// <summary>The papers as HTML: kept files, read back by a parser that is not the writer.</summary>
public sealed partial class PaperPressTests
{
    private static readonly InMemoryShop Shop = InventedLife.Live();

    public static TheoryData<string> Ids => [.. InventedLife.Papers.Select(paper => paper.Id)];

    /// <summary>Papers of kinds that the first templates had.</summary>
    public static TheoryData<string> FirstIds => [.. InventedLife.Papers.Select(paper => paper.Id).Where(id => Issued(id).Kind != "dispute-answer")];

    /// <summary>CONTRACTS_GOLDEN=write writes the files anew; read them before they are committed.</summary>
    [Theory]
    [MemberData(nameof(Ids))]
    public void A_paper_is_the_one_that_was_looked_at(string id)
    {
        var (data, printed, _) = Shop.MakeAgain(InventedLife.Contract, id);
        var file = $"fixtures/papers/{InventedLife.Papers.Single(paper => paper.Id == id).File}";
        Golden.Same($"{file}.html", Encoding.UTF8.GetString(printed!.Bytes));
        Golden.Same($"{file}.json", Encoding.UTF8.GetString(data!));
    }

    /// <summary>The papers of the first templates keep their words and their look, whatever later ones say: they were handed out.</summary>
    [Theory]
    [MemberData(nameof(FirstIds))]
    public void A_paper_of_the_first_templates_is_still_the_one_that_was_handed_out(string id)
    {
        var issued = Issued(id);
        var first = issued with { Template = $"{issued.Kind}.1" };
        var (_, printed, _) = Shop.Desk.MakeAgain(Shop.History(InventedLife.Contract), Shop.RatesThrough(issued.ThroughSequence), first);
        Golden.Same($"fixtures/papers/1/{InventedLife.Papers.Single(paper => paper.Id == id).File}.html", Encoding.UTF8.GetString(printed!.Bytes));
    }

    [Fact]
    public void The_words_in_the_code_and_the_templates_have_one_number() =>
        Assert.Equal(SigningData.NewestForm, TemplateSet.Embedded().Max(set => set.Version));

    [Fact]
    public void Every_kind_of_paper_is_looked_at() =>
        Assert.Equal(
            PaperKinds.Words.Order(StringComparer.Ordinal),
            InventedLife.Papers.Select(paper => Issued(paper.Id).Kind).Distinct().Order(StringComparer.Ordinal));

    [Fact]
    public void An_agreement_that_begins_at_delivery_says_that_its_days_are_those_expected()
    {
        var data = File.ReadAllText(Path.Combine(Golden.Root, "fixtures", "papers", "agreement.json"));
        Assert.Contains("\"startsAtDelivery\":false", data, StringComparison.Ordinal);
        Assert.DoesNotContain("expected on", Print(data), StringComparison.Ordinal);
        Assert.Contains("it is delivered on, expected on", Print(data.Replace("\"startsAtDelivery\":false", "\"startsAtDelivery\":true", StringComparison.Ordinal)), StringComparison.Ordinal);

        static string Print(string data) => Encoding.UTF8.GetString(PaperPress.Print(Encoding.UTF8.GetBytes(data), PaperKind.Agreement, null).Bytes);
    }

    /// <summary>A template that was used is never changed: another look is another version, in a folder of its own.</summary>
    [Fact]
    public void A_template_of_a_version_that_was_used_is_as_it_was() =>
        Golden.Same("fixtures/papers/templates.txt", string.Concat(PaperPress.Standard.Templates().Select(template => $"{template.Digest} {template.Name}\n")));

    [Theory]
    [MemberData(nameof(Ids))]
    public void A_paper_is_whole_html_without_script_or_anything_from_outside(string id)
    {
        var html = Html(id);
        var page = new HtmlParser(new HtmlParserOptions { IsStrictMode = true }).ParseDocument(html);
        Assert.StartsWith("<!DOCTYPE html>\n", html, StringComparison.Ordinal);
        Assert.Equal(("en-US", "utf-8"), (page.DocumentElement.GetAttribute("lang"), page.QuerySelector("meta[charset]")!.GetAttribute("charset")));
        Assert.Empty(page.QuerySelectorAll("script, link, img, iframe, object, embed, base, form, a"));
        Assert.DoesNotContain(page.All.SelectMany(element => element.Attributes), attribute =>
            attribute.Name is "src" or "href" or "style" || attribute.Name.StartsWith("on", StringComparison.Ordinal));
        Assert.DoesNotMatch(External(), html);
        Assert.DoesNotContain('\r', html);
        Assert.EndsWith("</html>\n", html, StringComparison.Ordinal);
        Assert.DoesNotContain(html.Split('\n'), line => line.EndsWith(' '));
    }

    [Theory]
    [MemberData(nameof(Ids))]
    public void Headings_come_in_order_and_every_table_says_what_it_is(string id)
    {
        var page = new HtmlParser().ParseDocument(Html(id));
        var levels = page.QuerySelectorAll("h1, h2, h3, h4, h5, h6").Select(heading => heading.LocalName[1] - '0').ToArray();
        Assert.Equal(1, levels[0]);
        Assert.Single(levels, level => level == 1);
        for (var at = 1; at < levels.Length; at++) { Assert.True(levels[at] <= levels[at - 1] + 1, $"heading {at} leaves out a level"); }
        var tables = page.QuerySelectorAll("table");
        Assert.NotEmpty(tables);
        foreach (var table in tables)
        {
            Assert.NotEmpty(table.QuerySelector("caption")!.TextContent.Trim());
            var heads = table.QuerySelectorAll("th");
            Assert.NotEmpty(heads);
            Assert.All(heads, head => Assert.Contains(head.GetAttribute("scope"), new[] { "col", "row" }));
            if (table.ClassName != "facts") { Assert.All(table.QuerySelectorAll("thead th"), head => Assert.Equal("col", head.GetAttribute("scope"))); }
            var columns = table.QuerySelectorAll("tr").Select(row => row.Children.Sum(cell => int.Parse(cell.GetAttribute("colspan") ?? "1", null))).Distinct();
            Assert.Single(columns);
        }
    }

    [Theory]
    [MemberData(nameof(Ids))]
    public void Every_figure_on_a_paper_is_the_accounts(string id)
    {
        var page = new HtmlParser().ParseDocument(Html(id));
        var account = InventedLife.Account(Shop, Issued(id));
        var figures = page.QuerySelectorAll("[data-figure]").Where(cell => cell.GetAttribute("data-figure") != "receipt.amount").ToArray();
        Assert.True(figures.Length >= 15);
        foreach (var cell in figures)
        {
            var path = cell.GetAttribute("data-figure")!;
            var value = (string)path.Split('.').Aggregate(account, (node, name) => node[name]!)!;
            Assert.Equal((path, value), (path, cell.QuerySelector("data")!.GetAttribute("value")));
        }

        // What is printed is the value, with thousands set apart and a real minus.
        Assert.All(page.QuerySelectorAll("data"), data => Assert.Equal(
            data.GetAttribute("value"), data.TextContent.Replace(",", "", StringComparison.Ordinal).Replace('\u2212', '-')));
    }

    [Fact]
    public void A_receipt_shows_what_is_left_by_schedule_and_the_price_to_own_and_adds_up()
    {
        var page = new HtmlParser().ParseDocument(Html("d-receipt-2"));
        // 600.00 less 45.00 and 30.00 of rent paid; 40 % off before 5 December.
        Assert.Equal("525.00", page.QuerySelector("[data-item=REMAINING_TOTAL] data")!.GetAttribute("value"));
        Assert.Equal("315.00", page.QuerySelector("[data-item=EPO_PRICE_NOW] data")!.GetAttribute("value"));
        var parts = page.QuerySelectorAll("table")[1];
        var paid = parts.QuerySelectorAll("tbody data").Sum(data => decimal.Parse(data.GetAttribute("value")!, System.Globalization.CultureInfo.InvariantCulture));
        Assert.Equal("39.42", parts.QuerySelector("tfoot data")!.GetAttribute("value"));
        Assert.Equal(39.42m, paid);
    }

    [Fact]
    public void Names_are_text_whatever_is_in_them()
    {
        var html = Html("d-agreement");
        var page = new HtmlParser().ParseDocument(html);
        Assert.DoesNotContain("<Lindell>", html, StringComparison.Ordinal);
        Assert.DoesNotContain("<folding>", html, StringComparison.Ordinal);
        var facts = page.QuerySelectorAll(".facts td").Select(cell => cell.TextContent).ToArray();
        Assert.Contains("Osei & <Lindell>", facts);
        Assert.Contains("HC-\"7\"", facts);
        Assert.Contains("NY, law pack NY.1", page.QuerySelector(".facts")!.TextContent, StringComparison.Ordinal);
        Assert.Contains("clarinet <B flat>", page.QuerySelector("[data-item=PROPERTY_DESC]")!.TextContent, StringComparison.Ordinal);
        Assert.Contains("good, \"one <pad> worn\"", new HtmlParser().ParseDocument(Html("d-return")).Body!.TextContent, StringComparison.Ordinal);
    }

    [Fact]
    public void The_sheet_has_a_row_for_each_item_every_agreement_tells()
    {
        var rows = new HtmlParser().ParseDocument(Html("d-agreement")).QuerySelectorAll("tr[data-item]").Select(row => row.GetAttribute("data-item"));
        Assert.Equal(PaperMaker.OnEveryAgreement.Select(Law.DisclosureItems.Code), rows);
    }

    [Theory]
    [InlineData("{{ figures.earlyPurchase.prize }}")]
    [InlineData("{{ figures.equity | monie }}")]
    [InlineData("{{ receipt.amount }}")]
    [InlineData("{{ status | money }}")]
    [InlineData("{% include 'nowhere' %}")]
    [InlineData("{{ 'now' | date: '%Y' }}")]
    [InlineData("{% if %}")]
    public void A_template_that_asks_for_what_is_not_there_prints_nothing(string fault)
    {
        var press = new PaperPress(TemplateSet.Embedded().Select(set => set.With("statement", fault)));
        var (data, _, _) = Shop.MakeAgain(InventedLife.Contract, "d-statement");
        Assert.Throws<PressException>(() => press.PrintOne(data!, PaperKind.Statement, null));
    }

    [Fact]
    public void A_language_of_the_machine_changes_no_byte()
    {
        var before = Html("d-statement");
        var culture = System.Globalization.CultureInfo.CurrentCulture;
        try
        {
            var other = (System.Globalization.CultureInfo)culture.Clone();
            (other.NumberFormat.NumberDecimalSeparator, other.NumberFormat.NumberGroupSeparator, other.NumberFormat.NegativeSign) = (",", ".", "~");
            System.Globalization.CultureInfo.CurrentCulture = other;
            Assert.Equal(before, Html("d-statement"));
        }
        finally
        {
            System.Globalization.CultureInfo.CurrentCulture = culture;
        }
    }

    private static ContractEvent.DocumentIssued Issued(string id) =>
        (ContractEvent.DocumentIssued)Shop.History(InventedLife.Contract).Entries.Single(entry => entry.Key == id).Event;

    private static string Html(string id) => Encoding.UTF8.GetString(Shop.MakeAgain(InventedLife.Contract, id).Printed!.Bytes);

    [GeneratedRegex(@"https?:|//|url\(|@import|data:", RegexOptions.IgnoreCase)]
    private static partial Regex External();
}
