# An invented year, told by cli/quickstart --season, which gives it `chapter`, `show`, `some`, `quietly` and `tell`.
export RACKSIDE_BOOK=$PWD/season.book

chapter "1. A year in a book"
tell "An invented keeper, three invented helpers, two species; the year ends today."
show init Ottoline
show demo season

quietly prey set pinky 2-4
quietly prey set adult-mouse 20-30
quietly prey set medium-rat 90-130
quietly freezer count pinky 400
quietly freezer count adult-mouse 160
quietly freezer count medium-rat 30
quietly rotation set C-10 C-17 C-18 C-19 --in 4

chapter "2. Tonight"
some 24 today.txt today
quietly today --sheet tonight.pdf
tell "To tick by hand when every battery is flat: build/demo/tonight.pdf"
some 12 thaw.txt thaw
show freezer
some 8 leftovers.txt leftovers adult-mouse 4

chapter "3. The season: who lays, what hatches, who is with whom"
show calendar
show rotation
some 16 clutches.txt clutches --all

chapter "4. The young"
some 16 hatchlings.txt hatchlings
some 12 ready.txt hatchlings --ready

chapter "5. One animal's story"
some 48 story.txt show C-1
quietly show C-1 --svg story.svg
quietly show C-1 --page story.html
tell "As a picture and a page: build/demo/story.svg and build/demo/story.html"

chapter "6. What a keeper asks"
some 10 not-eaten.txt ask not-eaten --days 21
some 10 unpaired.txt ask unpaired
show ask helpers
show ask eaten
show ask rates

chapter "7. For the inspector, and for leaving"
some 12 register.txt register
quietly register --csv register.csv
quietly export everything
tell "Everything as tables and as the log's own lines: build/demo/everything"

chapter "8. The proof"
show check
