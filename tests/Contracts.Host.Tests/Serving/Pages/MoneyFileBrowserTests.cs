using System.Net;
using System.Text;
using System.Text.Json.Nodes;
using Microsoft.Playwright;
using Xunit;

namespace Contracts.Host.Tests.Serving.Pages;

/// <summary>A money file as it comes to a host that listens: chosen in a browser, and in a request as large as the documents promise.</summary>
public sealed class MoneyFileBrowserTests(BrowserFixture shop) : IClassFixture<BrowserFixture>
{
    private const string Mapping = """{"name":"second","account":"1","columns":{"bookedOn":"Day","reference":"Reference","amount":"Amount","text":["Text"]}}""";

    [Fact]
    public async Task A_file_of_a_megabyte_is_chosen_in_a_browser_and_its_lines_wait()
    {
        await using var context = await shop.OpenAsync();
        var page = await context.NewPageAsync();
        await page.GotoAsync("/money-files");
        await page.Locator("input[name=file]").SetInputFilesAsync(new FilePayload { Name = "browser.csv", MimeType = "text/csv", Buffer = Encoding.UTF8.GetBytes(File("W")) });
        await page.Locator("input[name=mapping]").SetInputFilesAsync(new FilePayload { Name = "map.json", MimeType = "application/json", Buffer = Encoding.UTF8.GetBytes(Mapping) });
        await page.Locator("button[value=read]").ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Status)).ToContainTextAsync("browser.csv: 0 matched, 0 proposed, 20 unmatched");
        await BrowserFixture.PictureAsync(page, "money-file-read.png");
    }

    [Fact]
    public async Task A_request_may_be_as_large_as_a_file_and_not_larger()
    {
        using var client = new HttpClient { BaseAddress = new Uri(shop.Address) };
        // What is too large is answered before it is sent.
        client.DefaultRequestHeaders.ExpectContinue = true;
        client.DefaultRequestHeaders.Add("Authorization", $"Bearer {shop.Key}");
        Assert.Equal(HttpStatusCode.OK, await SendAsync(File("R")));
        Assert.Equal(HttpStatusCode.RequestEntityTooLarge, await SendAsync(new string('x', 34 << 20)));

        async Task<HttpStatusCode> SendAsync(string text)
        {
            var body = new JsonObject { ["name"] = "request.csv", ["text"] = text, ["mapping"] = JsonNode.Parse(Mapping) }.ToJsonString();
            using var content = new StringContent(body, Encoding.UTF8, "application/json");
            using var answer = await client.PostAsync("/v1/money-files/read", content, TestContext.Current.CancellationToken);
            return answer.StatusCode;
        }
    }

    /// <summary>Twenty lines that concern nobody, each with much that no column of the mapping names. Invented.</summary>
    private static string File(string prefix) => "Day,Reference,Amount,Text,Other\n"
        + string.Concat(Enumerable.Range(1, 20).Select(line => $"2027-06-{line:00},{prefix}-{line},0.0{1 + (line % 9)},a customer,{new string('o', 60_000)}\n"));
}
